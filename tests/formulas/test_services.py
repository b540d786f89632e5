"""Writes: permission, change, audit event, one transaction; the shelf's rows stay."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction

from formulas import selectors, services
from formulas.models import ChartEntry, ProductLine, Shade, StockMovement
from formulas.shade_changes import ShadeChanges
from salon.append_only import AppendOnlyError
from salon.models import AuditEvent, Role, Salon, Staff
from tests.factories.formulas import LineFactory, ShadeFactory
from tests.factories.salon import StaffFactory

Act = Callable[[Staff, Shade, dt.datetime], object]

OWNERS_ACTS: dict[str, Act] = {
    "add_line": lambda by, _s, at: services.add_line(by=by, at=at, name="New", kind="acidic"),
    "change_line": lambda by, s, at: services.change_line(line=s.line, by=by, at=at),
    "composition": lambda by, s, at: services.change_composition(line=s.line, by=by, at=at),
    "add_shade": lambda by, s, at: services.add_shade(line=s.line, by=by, at=at, name="9"),
    "change_shade": lambda by, s, at: services.change_shade(shade=s, by=by, at=at, name="8"),
    "count": lambda by, s, at: services.count_stock(shade=s, grams=Decimal(5), by=by, at=at),
    "discard": lambda by, s, at: services.discard_stock(
        shade=s, grams=Decimal(5), by=by, at=at
    ),
    "chart": lambda by, _s, at: services.replace_chart_entry(
        by=by, at=at, level=Decimal("7.5"), kind="natural", standing="measured",
        lightness=50.6, green_red=6.0, blue_yellow=16.0,
    ),
}  # fmt: skip
BENCH_ACTS: dict[str, Act] = {
    "receive": lambda by, s, at: services.receive_stock(
        shade=s, grams=Decimal(5), by=by, at=at
    ),
    "draw": lambda by, s, at: services.draw_stock(shade=s, grams=Decimal(5), by=by, at=at),
}


@pytest.fixture
def shade(salon: Salon, owner: Staff, now: dt.datetime) -> Shade:
    shade = ShadeFactory(line=LineFactory(salon=salon))
    services.receive_stock(shade=shade, grams=Decimal(60), by=owner, at=now)
    return shade


def _rows() -> tuple[int, ...]:
    counted = (ProductLine, Shade, StockMovement, ChartEntry, AuditEvent)
    return tuple(model.objects.count() for model in counted)


@pytest.mark.parametrize("name", OWNERS_ACTS)
def test_what_the_owner_may_and_others_may_not(
    name: str, shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    others = [
        StaffFactory(salon=owner.salon, role=r) for r in (Role.STYLIST, Role.RECEPTIONIST)
    ]
    before = _rows()
    for person in others:
        with pytest.raises(PermissionDenied):
            OWNERS_ACTS[name](person, shade, now)
    assert _rows() == before

    OWNERS_ACTS[name](owner, shade, now)

    assert AuditEvent.objects.count() == before[-1] + 1


@pytest.mark.parametrize("name", BENCH_ACTS)
def test_what_the_bench_may_and_the_desk_may_not(
    name: str, shade: Shade, stylist: Staff, receptionist: Staff, now: dt.datetime
) -> None:
    before = _rows()
    with pytest.raises(PermissionDenied):
        BENCH_ACTS[name](receptionist, shade, now)
    assert _rows() == before

    BENCH_ACTS[name](stylist, shade, now)

    assert AuditEvent.objects.count() == before[-1] + 1


@pytest.mark.parametrize(
    "name", [n for n in (*OWNERS_ACTS, *BENCH_ACTS) if n not in {"add_line", "chart"}]
)
def test_another_salons_owner_may_nothing(
    name: str, shade: Shade, other_salon: Salon, now: dt.datetime
) -> None:
    stranger = StaffFactory(salon=other_salon, role=Role.OWNER)
    before = _rows()

    with pytest.raises(PermissionDenied):
        (OWNERS_ACTS | BENCH_ACTS)[name](stranger, shade, now)

    assert _rows() == before


@pytest.mark.parametrize("name", [*OWNERS_ACTS, *BENCH_ACTS])
def test_a_failed_audit_write_rolls_the_change_back(
    name: str, shade: Shade, owner: Staff, now: dt.datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError("no room for the audit")

    before = _rows()
    version = ProductLine.objects.get(pk=shade.line_id).data_version
    monkeypatch.setattr("salon.audit.record_event", fail)

    with pytest.raises(RuntimeError):
        (OWNERS_ACTS | BENCH_ACTS)[name](owner, shade, now)

    assert _rows() == before
    assert ProductLine.objects.get(pk=shade.line_id).data_version == version


def test_every_change_of_a_line_or_shade_raises_its_version(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    seen = [shade.line.data_version]
    for name in ("change_line", "composition", "add_shade", "change_shade"):
        OWNERS_ACTS[name](owner, shade, now)
        seen.append(ProductLine.objects.get(pk=shade.line_id).data_version)

    assert seen == [1, 2, 3, 4, 5]


def test_a_shade_that_the_engine_cannot_use_is_refused(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    wrong: list[ShadeChanges] = [
        {"tones": {"mauve": 1.0}}, {"reflectance": [0.5, 0.4]}, {"tones": {"red": -1}},
    ]  # fmt: skip
    for bad in wrong:
        with pytest.raises(services.ShadeRefused):
            services.change_shade(shade=shade, by=owner, at=now, **bad)

    shade.refresh_from_db()
    assert shade.tones == {}


def test_a_poured_bowl_is_recorded_even_below_zero(
    shade: Shade, stylist: Staff, now: dt.datetime
) -> None:
    services.draw_stock(shade=shade, grams=Decimal(75), by=stylist, at=now)

    assert selectors.stock_of(shade=shade) == -15


@pytest.mark.parametrize("grams", ["0", "-3", "0.04", "NaN", "Infinity", "100001"])
@pytest.mark.parametrize("name", ["receive_stock", "draw_stock", "discard_stock"])
def test_weights_that_no_scale_shows_are_refused(
    shade: Shade, owner: Staff, now: dt.datetime, name: str, grams: str
) -> None:
    with pytest.raises(services.StockRefused):
        getattr(services, name)(shade=shade, grams=Decimal(grams), by=owner, at=now)

    assert selectors.stock_of(shade=shade) == 60


def test_a_count_that_agrees_records_nothing(
    shade: Shade, owner: Staff, now: dt.datetime
) -> None:
    assert services.count_stock(shade=shade, grams=Decimal(60), by=owner, at=now) is None
    assert shade.movements.count() == 1


def test_movements_and_chart_entries_are_kept_for_good(
    shade: Shade, append_only_triggers: None
) -> None:
    movement = shade.movements.get()

    with pytest.raises(AppendOnlyError):
        movement.save()
    with pytest.raises(AppendOnlyError):
        StockMovement.objects.all().delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        StockMovement.objects.all()._raw_delete("default")
    assert StockMovement.objects.count() == 1


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("stock_movement_moves_something", {"grams": 0, "reason": "counted"}),
        ("stock_movement_sign_fits_reason", {"grams": -5, "reason": "received"}),
        ("stock_movement_sign_fits_reason", {"grams": 5, "reason": "mixed"}),
        ("stock_movement_sign_fits_reason", {"grams": 5, "reason": "discarded"}),
    ],
)
def test_the_database_holds_movements_to_their_reason(
    shade: Shade, owner: Staff, now: dt.datetime, name: str, fields: dict[str, object]
) -> None:
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        StockMovement.objects.create(
            salon=owner.salon, shade=shade, recorded_at=now, recorded_by=owner, **fields
        )


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("line_ratio_and_time_positive", {"developer_ratio": 0}),
        ("line_ratio_and_time_positive", {"processing_minutes": 0}),
        ("line_peroxide_within_the_limit", {"developer_percent": Decimal("12.1")}),
        ("line_kind_known", {"kind": "greasy"}),
    ],
)
def test_the_database_holds_lines_to_sense(
    salon: Salon, name: str, fields: dict[str, object]
) -> None:
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        LineFactory(salon=salon, **fields)


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("shade_level_within_1_to_10", {"level": Decimal("10.5")}),
        ("shade_strength_positive", {"strength": 0}),
        ("shade_tube_makes_sense", {"tube_grams": 0}),
        ("shade_tube_makes_sense", {"tube_price": -1}),
    ],
)
def test_the_database_holds_shades_to_sense(
    salon: Salon, name: str, fields: dict[str, object]
) -> None:
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        ShadeFactory(line=LineFactory(salon=salon), **fields)


def test_a_line_without_a_name_is_refused(owner: Staff, now: dt.datetime) -> None:
    with pytest.raises(ValidationError):
        services.add_line(by=owner, at=now, name="", kind="acidic")
