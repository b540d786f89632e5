"""Every invariant of a visit stands in the database, whoever writes."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from consult.models import (
    BowlLine,
    BowlMixed,
    Choice,
    ChosenPlace,
    Formula,
    FormulaLine,
    HairFacts,
    ProcessingCheck,
    ProcessingMark,
    ResultSeen,
    SignOff,
    Visit,
    VisitEvent,
    ZoneReading,
)
from salon.append_only import AppendOnlyError
from tests.factories.consult import Story
from tests.typed import present

APPEND_ONLY = [
    VisitEvent,
    ZoneReading,
    HairFacts,
    Choice,
    ChosenPlace,
    SignOff,
    Formula,
    FormulaLine,
    BowlMixed,
    BowlLine,
    ProcessingCheck,
    ProcessingMark,
    ResultSeen,
]


@pytest.fixture
def told(story: Story) -> Story:
    """A visit told to its end, so that every table has a row."""
    story.to_end()
    return story


def _refused(write: Callable[[], object], name: str) -> None:
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        write()


def _copy(row: object, **changes: object) -> Callable[[], object]:
    """Return a write of the same row again, with some fields changed."""
    model = type(row)
    fields = {
        field.attname: getattr(row, field.attname)
        for field in model._meta.concrete_fields  # type: ignore[attr-defined]
        if not field.primary_key
    }
    return lambda: model(**{**fields, **changes}).save()  # type: ignore[attr-defined]


def test_one_open_visit_per_appointment(story: Story) -> None:
    # SQLite names the column of a broken unique constraint, PostgreSQL the constraint.
    _refused(_copy(story.visit), "one_open_visit_per_appointment|consult_visit.appointment_id")


def test_a_visit_may_open_again_once_the_first_has_ended(told: Story) -> None:
    again = _copy(told.visit, status="open", closed_at=None)

    again()

    assert Visit.objects.filter(appointment=told.visit.appointment).count() == 2


def test_a_visit_says_truly_whether_it_has_ended(told: Story) -> None:
    for changes, name in (
        ({"status": "lost", "closed_at": None}, "visit_status_known"),
        ({"status": "closed", "closed_at": None}, "visit_has_ended_when_it_says_so"),
        ({"status": "open"}, "visit_has_ended_when_it_says_so"),
    ):
        _refused(_copy(told.visit, **changes), name)


def test_a_visit_ends_after_it_opened(told: Story) -> None:
    before = told.visit.opened_at - dt.timedelta(minutes=1)

    _refused(_copy(told.visit, closed_at=before), "visit_ends_after_it_opened")


def test_a_version_is_made_once(story: Story) -> None:
    event = story.visit.events.get()

    _refused(_copy(event), "visit_version_once|visitevent.visit_id")


def test_a_reading_stays_on_its_scales(told: Story) -> None:
    for changes, name in (
        ({"lifted_level": Decimal("7.3")}, "reading_levels_in_half_steps"),
        ({"natural_level": Decimal("10.5")}, "reading_levels_in_half_steps"),
        ({"undertone": Decimal("1.1")}, "reading_undertone_within_scale"),
        ({"porosity": Decimal("-1.1")}, "reading_porosity_within_scale"),
        ({"white_percent": 101}, "reading_white_up_to_100"),
        ({"zone": "beard"}, "reading_zone_known"),
    ):
        _refused(_copy(told.visit.zone_readings.first(), **changes), name)


def test_choices_number_once_and_from_one(told: Story) -> None:
    choice = told.visit.choices.get()

    _refused(_copy(choice), "choice_number_once|choice.visit_id")
    _refused(_copy(choice, number=0), "choice_number_from_one")


def test_a_place_is_worded_and_known(told: Story) -> None:
    place = told.visit.choices.get().places.get()

    _refused(_copy(place, statement="", zones="roots"), "chosen_place_is_worded")
    _refused(_copy(place, zones="beard"), "chosen_zones_known")
    _refused(_copy(place, warmth_aim_percent=999, zones="roots"), "chosen_aim_makes_sense")


def test_a_sign_off_is_signed_and_chained_once(told: Story) -> None:
    told.visit.refresh_from_db()
    choice = told.visit.choices.get()
    other = Choice.objects.create(
        visit=told.visit,
        number=2,
        engine_version="1",
        data_version="1",
        policy_number=1,
        recorded_at=told.at,
        recorded_by=told.by,
    )
    assert choice.pk != other.pk

    for changes, name in (
        ({"number": 2, "digest": "b", "previous_digest": "c", "signed_name": ""}, "names_who"),
        (
            {"number": 2, "digest": "b", "previous_digest": "c", "method": "drawn"},
            "sign_off_is_not_empty",
        ),
        ({"number": 0, "digest": "b", "previous_digest": "c"}, "sign_off_number_from_one"),
        ({"digest": "b", "previous_digest": "c"}, "number_once|signoff.number"),
        ({"number": 2, "digest": "b"}, "never_forks|previous_digest"),
        ({"number": 2, "previous_digest": "c"}, "digest_once|signoff.digest"),
    ):
        _refused(_copy(told.visit.sign_offs.get(), choice_id=other.pk, **changes), name)


def test_a_formula_stays_within_reason(told: Story) -> None:
    for changes, name in (
        ({"revision": 1}, "formula_revision_once|formula.visit_id"),
        ({"bowl_grams": Decimal(0)}, "formula_weight_and_time_make_sense"),
        ({"developer_percent": Decimal("12.5")}, "formula_peroxide_within_the_limit"),
        ({"zones": "beard"}, "formula_zones_known"),
        ({"source": "oracle"}, "formula_source_known"),
    ):
        _refused(_copy(told.visit.formulas.get(), **{"revision": 2, **changes}), name)


def test_parts_are_above_zero_and_a_shade_stands_once(told: Story) -> None:
    line = told.visit.formulas.get().lines.first()
    assert line is not None

    _refused(_copy(line), "formula_shade_once|formulaline.formula_id")
    _refused(_copy(line, parts=Decimal(0)), "formula_parts_above_zero|formulaline")
    _refused(_copy(line, parts=Decimal(-1)), "formula_parts_above_zero|formulaline")


def test_a_bowl_holds_something_within_the_peroxide_limit(told: Story) -> None:
    bowl = told.visit.bowls.get()
    line = bowl.lines.first()
    assert line is not None

    _refused(_copy(bowl), "bowl_number_once|bowlmixed.visit_id")
    _refused(
        _copy(bowl, number=2, strength_percent=Decimal("12.1")),
        "bowl_peroxide_within_the_limit",
    )
    _refused(_copy(line, poured_grams=Decimal(0)), "bowl_grams_above_zero|bowlline")


def test_processing_ends_once_and_after_it_started(told: Story) -> None:
    end = told.visit.bowls.get().marks.get(kind="end")
    early = end.started_at - dt.timedelta(seconds=1)

    _refused(_copy(end), "processing_mark_once|processingmark.bowl_id")
    _refused(_copy(end, marked_at=early), "processing_ends_after_it_started|processingmark")


def test_a_result_is_seen_on_the_scale_or_not_looked_at(told: Story) -> None:
    result = told.visit.results.get()

    _refused(_copy(result, level=Decimal("10.5")), "result_level_on_the_scale")
    _refused(_copy(result, level=None), "result_seen_or_not_looked_at")
    _refused(_copy(result, is_looked_at=False), "result_seen_or_not_looked_at")
    _refused(_copy(result, warmth_left_percent=151), "result_warmth_makes_sense")
    _refused(_copy(result, evenness="stripy"), "result_known_words")


def test_rows_of_a_visit_are_never_changed(told: Story, subtests: pytest.Subtests) -> None:
    for model in APPEND_ONLY:
        with subtests.test(model=model.__name__):
            row = present(model.objects.first())

            with pytest.raises(AppendOnlyError):
                row.save()
            with pytest.raises(AppendOnlyError):
                row.delete()
            with pytest.raises(AppendOnlyError):
                model.objects.update(pk=0)


def test_the_database_refuses_too(
    append_only_triggers: None, told: Story, subtests: pytest.Subtests
) -> None:
    tables = [model._meta.db_table for model in APPEND_ONLY]
    for table in tables:
        for statement in (f"UPDATE {table} SET id = id", f"DELETE FROM {table}"):  # noqa: S608
            with (
                subtests.test(statement=statement),
                pytest.raises(IntegrityError),
                transaction.atomic(),
                connection.cursor() as cursor,
            ):
                cursor.execute(statement)
