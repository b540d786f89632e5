"""Every form of the product, and what the constructors of some of them need."""

import datetime as dt
import importlib
import inspect
import pkgutil
from collections.abc import Callable
from typing import Any

from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.validators import BaseValidator, MaxValueValidator, MinValueValidator
from phonenumber_field.formfields import PhoneNumberField

from clients.diary.opening import week_of
from clients.diary.public_holidays import Holiday
from clients.forms import (
    AbsenceForm,
    AreaForm,
    BookingForm,
    ChairForm,
    ChangeForm,
    ClientForm,
    HairHistoryForm,
    HolidaysForm,
    HolidayYearForm,
    MappingForm,
    MergeForm,
    MoveForm,
    NewChairForm,
    NewServiceForm,
    PlaceForm,
    ServiceForm,
    ValuesForm,
    WaitingForm,
    WeekForm,
    YearlyHolidaysForm,
)
from clients.forms.diary import WhenForm
from clients.forms.record_access import AccessFilterForm
from consult.forms import (
    BowlForm,
    ChoiceForm,
    FormulaForm,
    HairForm,
    PreTestForm,
    ReceiveForm,
    SecondPersonForm,
    StepForm,
)
from consult.forms.hair import ZoneForm
from consult.forms.histories import PeriodForm
from consult.forms.network import PairsField
from consult.forms.result import Compared, ResultForm
from consult.forms.two_visits import TwoVisitsForm
from consult.zones import GROUPS
from formulas.drawing.strands import ComparedStrand, undertone_strands
from formulas.engine_inputs import ground_of
from formulas.forms import (
    ColumnsForm,
    CountSheetForm,
    DeliveryForm,
    ExplanationForm,
    LineForm,
    NewLineForm,
    ReceiveShadeForm,
    ShadeForm,
    ShadeListForm,
    StarterForm,
)
from formulas.models import ProductLine, Shade
from salon.forms import OwnPasswordForm
from tests.factories.consult import Story
from tests.factories.photos import from_a_phone
from tests.typed import present

APPS = ("salon", "formulas", "clients", "consult")
NOW = dt.datetime(2026, 3, 11, 10, tzinfo=dt.UTC)


def every_form() -> dict[str, Any]:
    """Return each form class of the product by where it stands and its name."""
    found: dict[str, Any] = {}
    for app in APPS:
        package = importlib.import_module(f"{app}.forms")
        inner = pkgutil.iter_modules(getattr(package, "__path__", []), f"{app}.forms.")
        for module in (package, *(importlib.import_module(one.name) for one in inner)):
            for name, one in vars(module).items():
                is_form = inspect.isclass(one) and (
                    issubclass(one, forms.BaseForm) or hasattr(one, "is_valid")
                )
                if is_form and one.__module__ == module.__name__:
                    found[f"{module.__name__}.{name}"] = one
    return found


def _salon(story: Story) -> dict[str, Any]:
    return {"salon": story.visit.salon}


def _salon_today(story: Story) -> dict[str, Any]:
    return {"salon": story.visit.salon, "today": NOW.date()}


STRANDS = [ComparedStrand(step, "#a08060", f"step {step}") for step in (-0.5, 0.0, 0.5)]

# What a constructor needs beside the data; a form that needs nothing has no row here.
NEEDS: dict[Any, Callable[[Story], dict[str, Any]]] = {
    OwnPasswordForm: lambda story: {"user": story.by},
    AccessFilterForm: _salon,
    NewLineForm: _salon,
    StarterForm: _salon,
    NewServiceForm: _salon,
    ServiceForm: _salon,
    NewChairForm: _salon,
    ChairForm: _salon,
    WeekForm: lambda story: {"week": week_of(salon=story.visit.salon)},
    LineForm: lambda story: {
        "salon": story.visit.salon,
        "instance": ProductLine.objects.get(pk=story.visit.line_id),
    },
    SecondPersonForm: lambda story: {"by": story.by},
    ReceiveForm: lambda story: {"alike": [story.visit.client]},
    TwoVisitsForm: lambda story: {"visits": [story.visit]},
    DeliveryForm: lambda story: {"shades": story.visit.line.shades.all()[:3]},
    CountSheetForm: lambda story: {"shades": story.visit.line.shades.all()[:3]},
    ShadeListForm: lambda story: {"line": story.visit.line},
    ColumnsForm: lambda story: {"header": ["Name"], "mapping": {"0": "name"}, "samples": [""]},
    ShadeForm: lambda story: {"line": story.visit.line},
    ReceiveShadeForm: lambda story: {"shades": Shade.objects.filter(line=story.visit.line)},
    ExplanationForm: lambda story: {
        "shade_names": list(story.visit.line.shades.values_list("name", flat=True))
    },
    HairHistoryForm: lambda story: {"today": NOW.date()},
    WhenForm: _salon,
    BookingForm: _salon,
    MoveForm: _salon,
    ChangeForm: lambda story: {"appointment": story.visit.appointment},
    AbsenceForm: _salon_today,
    WaitingForm: _salon_today,
    PeriodForm: _salon_today,
    HolidayYearForm: lambda story: {"areas": ["BY"], "today": NOW.date()},
    HolidaysForm: lambda story: {"found": [Holiday(NOW.date(), "St Patrick")]},
    AreaForm: lambda story: {"areas": ["BY"]},
    YearlyHolidaysForm: lambda story: {"found": [Holiday(NOW.date(), "St Patrick", ("x",))]},
    ClientForm: _salon_today,
    ValuesForm: lambda story: {"values": [], "today": NOW.date()},
    MappingForm: lambda story: {"header": ["Name", "", "E-mail"], "mapping": {"0": "name"}},
    PlaceForm: lambda story: {"salon": story.visit.salon, "by": story.by, "at": NOW},
    MergeForm: lambda story: {
        "kept": story.visit.client,
        "merged": story.visit.client,
        "by": story.by,
    },
    ChoiceForm: lambda story: {"keys": list(GROUPS)[:2]},
    BowlForm: lambda story: {"mix": story.visit.formulas.first()},
    FormulaForm: lambda story: {
        "shades": story.visit.line.shades.all()[:3],
        "line": story.visit.line,
    },
    ZoneForm: lambda story: {"zone": "roots"},
    HairForm: lambda story: {
        "readings": {},
        "facts": None,
        "strands": undertone_strands(ground_of(story.visit.line).chart),
    },
    PreTestForm: lambda story: {"kind": "strand"},
    ResultForm: lambda story: {"groups": {"roots": Compared(STRANDS, STRANDS)}},
    StepForm: lambda story: {"at": NOW},
}


def build(form: Any, data: Any, files: Any, story: Story) -> Any:
    """Return the form, bound."""
    needed = NEEDS[form](story) if form in NEEDS else {}
    takes_files = any(
        p.kind is p.VAR_POSITIONAL or p.name == "files"
        for p in inspect.signature(form.__init__).parameters.values()
    )
    if "user" in needed:
        return form(data=data, **needed)
    return form(data, files, **needed) if takes_files else form(data, **needed)


def parts_of(form: Any) -> list[forms.BaseForm]:
    """Return the forms that a form is made of."""
    return list(form.forms) if hasattr(form, "forms") else [form]


# Where the first value of each field does not do, by what is posted.
BETTER: dict[str, str] = {
    "username": "ada",
    "check_minutes": "10",
    "developer_ratio": "1.5",
    "developer_percent": "6",
    "further_developers": "9",
    "minimum_age": "16",
    "patch_valid_months": "6",
    "photos_keep_years": "2",
    "messages_keep_months": "12",
    "closes_at": "18:00",
    **{f"to-{day}": "18:00" for day in range(7)},
    "application_minutes": "30",
    "processing_minutes": "25",
    "finish_minutes": "35",
    "is_patch_test": "",
    "column-1": "",
    "column-2": "",
    "shade_2": "",
    "shade_3": "",
    "shade_4": "",
    "parts_1": "1",
}


def good_values(form: Any, story: Story) -> dict[str, list[str]]:
    """Return values that the fields themselves would take, by the name they are posted as."""
    return {
        part.add_prefix(name): [BETTER.get(name, _good(field))]
        for part in parts_of(build(form, {}, {}, story))
        for name, field in part.fields.items()
        if not isinstance(field, forms.FileField)
    }


def _first(field: Any) -> str:
    return next((str(value) for value, _ in field.choices if value not in {"", None}), "")


def _number(field: Any) -> str:
    """Return 24, or what is nearest to it and allowed."""

    def limits(kind: type[BaseValidator]) -> list[Any]:
        found = [v.limit_value for v in field.validators if type(v) is kind]
        return [one() if callable(one) else one for one in found]

    most = min(limits(MaxValueValidator), default=24)
    return str(max([*limits(MinValueValidator), min(24, most)]))


# The first kind that fits, so that the special ones stand first.
_GOOD: tuple[tuple[type[forms.Field], Callable[[Any], str]], ...] = (
    (forms.ModelChoiceField, lambda field: str(field.queryset.values_list("pk").first()[0])),
    (forms.ChoiceField, _first),
    (forms.BooleanField, lambda field: "on"),
    (forms.DateTimeField, lambda field: "2026-03-11T09:00"),
    (forms.DateField, lambda field: "2026-03-11"),
    (forms.TimeField, lambda field: "09:30"),
    (forms.IntegerField, _number),  # decimals are among them
    (forms.EmailField, lambda field: "ada@example.com"),
    (PhoneNumberField, lambda field: "+441174960100"),
    (PairsField, lambda field: '[["note", "typed"]]'),
    (forms.SlugField, lambda field: "hair"),
    (forms.CharField, lambda field: "Longer than twenty letters"[: field.max_length or 40]),
)


def _good(field: forms.Field) -> str:
    if isinstance(field, forms.ModelChoiceField) and not present(field.queryset).exists():
        return ""
    return next((good(field) for kind, good in _GOOD if isinstance(field, kind)), "1")


def files_for(form: Any, content: bytes | None = None) -> dict[str, SimpleUploadedFile]:
    """Return an upload for each field that takes a file."""
    fields = getattr(form, "base_fields", {})
    return {
        name: SimpleUploadedFile("a.jpg", from_a_phone() if content is None else content)
        for name, field in fields.items()
        if isinstance(field, forms.FileField)
    }
