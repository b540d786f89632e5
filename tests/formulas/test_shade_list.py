"""A whole line at once: rows as people write them, CxF3 of instruments, families in words."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.utils import translation

from formulas import engine
from formulas.engine.light.colorimetry import reflectance_to_lab
from formulas.models import ProductLine, StockMovement
from formulas.shade_list import bar_codes, cxf, tone_words
from formulas.swatch_text import SwatchRefused, check_swatch, read_swatch
from salon.models import Salon
from salon.table_file import Unreadable
from tests.factories.formulas import LineFactory
from tests.typed import Answer, present

ROWS = (
    "Name\tLevel\tTone\tL*\ta*\tb*\tSize\tPrice\tAllergen family\tEAN\tTubes\tLot"
    "\tBest before\n"
    "\t8\tviolet\t\t\t\t60 g\t€ 7,20\tresorcinol\t\t3\tL-77\t2027-06\n"
    "Harbour fog\t9\t\t70,5\t1,2\t8,4\t60\t7.90\t\t6291041500213\t\t\t\n"
    "\t8 to 10\tstrong pearl and natural\t\t\t\t\t\t\t\t\t\t\n"
    "\t\tclear\t\t\t\t\t\t\t\t\t\t\n"
    "Soot\t9\t\t2\t0\t0\t\t\t\t\t\t\t\n"
    "\t11\tviolet\t\t\t\t\t\t\t\t\t\t\n"
    "\t7\tmauvish\t\t\t\t\t\t\t\t\t\t\n"
)
# In the shape of CxF3 (ISO 17972-1:2015; its own examples are not free to copy).
CXF = """<?xml version="1.0" encoding="UTF-8"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core"><cc:Resources>
 <cc:ObjectCollection>
  <cc:Object ObjectType="Standard" Name="8 harbour fog" Id="1"><cc:ColorValues>
   <cc:ReflectanceSpectrum ColorSpecification="s1" StartWL="380">{values}
   </cc:ReflectanceSpectrum>
   <cc:ColorCIELab ColorSpecification="s2"><cc:L>1</cc:L><cc:A>0</cc:A><cc:B>0</cc:B>
   </cc:ColorCIELab>
  </cc:ColorValues></cc:Object>
  <cc:Object ObjectType="Standard" Name="7 moss" Id="2"><cc:ColorValues>
   <cc:ColorCIELab ColorSpecification="s3"><cc:L>52</cc:L><cc:A>2</cc:A><cc:B>9</cc:B>
   </cc:ColorCIELab>
  </cc:ColorValues></cc:Object>
  <cc:Object ObjectType="Standard" Name="7 print" Id="3"><cc:ColorValues>
   <cc:ColorCIELab ColorSpecification="s2"><cc:L>52</cc:L><cc:A>2</cc:A><cc:B>9</cc:B>
   </cc:ColorCIELab>
  </cc:ColorValues></cc:Object>
 </cc:ObjectCollection>
 <cc:ColorSpecificationCollection>
  <cc:ColorSpecification Id="s1"><cc:MeasurementSpec>
   <cc:WavelengthRange StartWL="380" Increment="10"/>
   </cc:MeasurementSpec></cc:ColorSpecification>
  <cc:ColorSpecification Id="s2"><cc:TristimulusSpec><cc:Illuminant>D50</cc:Illuminant>
   <cc:Observer>2_Degree</cc:Observer></cc:TristimulusSpec></cc:ColorSpecification>
  <cc:ColorSpecification Id="s3"><cc:TristimulusSpec><cc:Illuminant>D65</cc:Illuminant>
   <cc:Observer>10_Degree</cc:Observer></cc:TristimulusSpec></cc:ColorSpecification>
 </cc:ColorSpecificationCollection></cc:Resources></cc:CxF>""".replace(
    "{values}", " ".join(f"{0.10 + 0.006 * n:.4f}" for n in range(36))
)


@pytest.fixture
def line(salon: Salon) -> ProductLine:
    return LineFactory(salon=salon)


def _post(browser: Browser, line: ProductLine, **data: object) -> Answer:
    return browser.post(f"/lines/{line.pk}/shades/list/", data)


def test_a_pasted_list_is_shown_first_and_then_added(
    as_owner: Browser, line: ProductLine
) -> None:
    shown = _post(as_owner, line, text=ROWS, tube_price="6.50")
    assert "9 shades to add" in shown.text
    assert "darker than black hair" in shown.text
    assert "Levels go from 1 to 10" in shown.text
    assert "“mauvish” is not a tone" in shown.text
    assert not line.shades.exists()

    left = _post(as_owner, line, text=ROWS, tube_price="6.50", take="1")

    shades = {shade.name: shade for shade in line.shades.all()}
    assert sorted(shades) == sorted(
        ["8 violet", "Harbour fog", "clear"]
        + [f"{n} {tone}" for n in (8, 9, 10) for tone in ("strong pearl", "natural")]
    )
    assert shades["8 violet"].tones == dict(engine.Shade.from_words("8 violet").tones)
    assert (shades["8 violet"].tube_price, shades["clear"].tube_price) == (
        Decimal("7.20"), Decimal("6.50"),
    )  # fmt: skip
    fog = shades["Harbour fog"]
    assert reflectance_to_lab(present(fog.reflectance)) == pytest.approx(
        [70.5, 1.2, 8.4], abs=0.01
    )
    assert fog.gtin == "6291041500213"
    moved = StockMovement.objects.get(shade__line=line)
    assert (moved.grams, moved.batch, str(moved.expires_on)) == (
        Decimal(180),
        "L-77",
        "2027-06-30",
    )
    assert "resorcinol" in shades["8 violet"].allergens
    assert "Soot" in left.text
    assert "7\tmauvish" in left.text
    assert "pearl" not in left.text.partition("</textarea>")[0].partition("<textarea")[2]


def test_what_is_in_the_line_already_stays_as_it_is(
    as_owner: Browser, line: ProductLine
) -> None:
    _post(as_owner, line, text="8 violet\n9 violet", take="1")
    line.shades.filter(name="8 violet").update(strength=1.2)

    text = "8 violet\n10 violet\n10 violet"
    assert "The list has this name twice" in _post(as_owner, line, text=text).text
    _post(as_owner, line, text=text, take="1")

    assert line.shades.count() == 3
    assert line.shades.get(name="8 violet").strength == 1.2


def test_cxf_becomes_rows_and_lab_for_another_light_is_refused(
    as_owner: Browser, line: ProductLine
) -> None:
    shown = _post(as_owner, line, file=SimpleUploadedFile("fog.cxf", CXF.encode()))
    assert "2 shades to add" in shown.text
    assert "L*a*b* for D50 2° cannot be used" in shown.text

    _post(as_owner, line, file=SimpleUploadedFile("fog.cxf", CXF.encode()), take="1")

    fog = line.shades.get(name="8 harbour fog")
    assert fog.level == 8
    measured = present(fog.reflectance)
    assert measured[0] == pytest.approx(0.112), "400 nm is the third of 380, 390, 400"
    assert measured[-1] == pytest.approx(0.292)


@pytest.mark.parametrize(
    "content",
    [
        b'<!DOCTYPE x [<!ENTITY a "b">]><CxF xmlns="http://colorexchangeformat.com/CxF3-core"/>',
        b'<CxF xmlns="http://colorexchangeformat.com/CxF3-core"><broken></CxF>',
        b'<CxF xmlns="http://colorexchangeformat.com/CxF3-core"/>',
    ],
)
def test_cxf_with_a_document_type_or_without_colours_is_refused(content: bytes) -> None:
    assert cxf.is_cxf(content)
    with pytest.raises(Unreadable):
        cxf.as_rows(content)


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ("8 to 10, violet and pearl", 6),
        ("8-10 violet", 3),
        ("9 Kräftig Violett-Blau", 1),
        ("7,5 slight gold", 1),
        ("8 ash & natural", 2),
        ("clear", 1),
    ],
)
def test_families_in_words_of_either_language(words: str, names: int) -> None:
    with translation.override("de"):
        assert len(tone_words.shades_in(words)) == names


def test_a_family_in_words_joins_the_rows_in_their_columns(
    as_owner: Browser, line: ProductLine
) -> None:
    shown = _post(as_owner, line, text="Name;Price\n7 blue;8", family="9 to 10, violet and red")

    assert "5 shades to add" in shown.text
    assert "9 violet;" in shown.text


def test_the_next_shade_starts_as_a_copy(as_owner: Browser, line: ProductLine) -> None:
    data = {
        "way": "words", "level": "8", "tone": "pearl", "body": "strong", "tube_grams": "75",
        "tube_price": "8.40", "allergens": "resorcinol", "version": "1", "another": "1",
    }  # fmt: skip
    address = as_owner.post(f"/lines/{line.pk}/shades/new/", data)["Location"]

    form = as_owner.get(address).context["form"]

    assert form["tube_grams"].value() == 75
    assert (form["tone"].value(), form["name"].value()) == ("pearl", "")
    assert form["allergens"].value() == "resorcinol"


def test_a_line_comes_out_as_it_goes_in(
    as_owner: Browser, line: ProductLine, salon: Salon
) -> None:
    _post(as_owner, line, text=ROWS, take="1")
    other = LineFactory(salon=salon, name="Other")

    table = as_owner.get(f"/lines/{line.pk}/shades.csv").content
    _post(as_owner, other, file=SimpleUploadedFile("shades.csv", table), take="1")

    fields = ("name", "level", "tones", "tube_price", "allergens", "gtin")
    assert list(other.shades.values_list(*fields)) == list(line.shades.values_list(*fields))
    found, meant = (x.shades.get(name="Harbour fog").reflectance for x in (other, line))
    assert found == pytest.approx(meant, abs=1e-4)


def test_labels_with_different_allergens_show_a_caution(
    as_owner: Browser, line: ProductLine
) -> None:
    rows = "Name,Allergens\n8 violet,resorcinol\n9 violet,toluene-2"
    _post(as_owner, line, text=rows, take="1")

    assert "A patch test says nothing about a dye" in as_owner.get(f"/lines/{line.pk}/").text


def test_the_last_digit_of_a_bar_code() -> None:
    """GS1's own example of a check digit calculation: 629104150021 gives 3."""
    assert bar_codes.check_digit("629104150021") == 3
    assert bar_codes.read("6 291041-500213") == "6291041500213"
    with pytest.raises(bar_codes.NoBarCode):
        bar_codes.read("6291041500214")


def test_labelled_swatches_are_understood_and_impossible_ones_refused() -> None:
    for text in ("L*=62.5; a*=4.1; b*=-6.3", "b* = -6,3\nL* = 62,5\na* = 4,1"):
        assert reflectance_to_lab(read_swatch(text)) == pytest.approx(
            [62.5, 4.1, -6.3], abs=0.01
        )
    spectrum = "wavelength,value\n" + "\n".join(f"{nm}nm,0.4" for nm in range(400, 701, 10))
    assert read_swatch(spectrum) == pytest.approx([0.4] * 31)
    for text, level in (("2 0 0", 9), ("98 0 -3", 9), ("25 2 3", 9)):
        with pytest.raises(SwatchRefused):
            check_swatch(read_swatch(text), level=Decimal(level))
    check_swatch(read_swatch("62.5 4.1 -6.3"), level=Decimal(9))
