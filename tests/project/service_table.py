"""Which roles may call each service, and with what a walk over all of them calls it."""

import datetime as dt
from decimal import Decimal
from typing import Any, NamedTuple

from clients.people.csv_file import Table
from consult.models import Visit
from salon.access import BENCH, DESK, FRONT, OWNER
from tests.project.service_row import Row, own
from tests.project.service_table_salon import SALON
from tests.project.service_world import DAY, World


class _OfVisit:
    """Stands for a bowl, a formula, a step or a mail: what the policy asks of one."""

    def __init__(self, visit: Visit) -> None:
        self.visit = visit


class _Photo(NamedTuple):
    salon_id: int


def _booking(world: World) -> dict[str, Any]:
    w = world
    named = {"client": w.client, "service": w.service, "stylist": w.stylist, "line": w.line}
    return {**named, "starts_at": w.at + DAY}


def _day(world: World) -> dict[str, Any]:
    return {"first": world.at.date(), "last": world.at.date()}


_CLIENTS = {
    "note_access": Row(
        DESK,
        lambda w: {"kind": "health", "target": "clients", "target_id": "1", "client": w.client},
    ),
    "request_erasure": Row(OWNER, lambda w: {"client": w.client, "reason": "in_person"}),
    "stop_erasure": Row(OWNER, lambda w: {"client": w.client}),
    "erase_client": Row(OWNER, lambda w: {"client": w.client}),
    "restrict_client": Row(OWNER, lambda w: {"client": w.client, "reason": "claims"}),
    "lift_restriction": Row(OWNER, lambda w: {"client": w.client, "is_client_informed": True}),
    "change_appointment": Row(
        DESK,
        lambda w: {
            "appointment": w.appointment,
            "service": w.service,
            "line": w.line,
            "chair": None,
            "minutes": None,
            "note": "",
        },
    ),
    "book_with_test": Row(
        DESK,
        lambda w: {
            **_booking(w),
            "starts_at": w.at + 9 * DAY,
            "place": (w.at + DAY, w.stylist),
            "read": (w.at + 5 * DAY, w.stylist),
        },
    ),
    "take_health_consent": Row(DESK, lambda w: {"client": w.client, "agreed_by": ""}),
    "record_call": Row(
        DESK,
        lambda w: {
            "client": w.client,
            "appointment": w.appointment,
            "reason": "away",
            "outcome": "reached",
        },
    ),
    "keep_draft": own(DESK, address="/clients/new/", fields=[], once=""),
    "drop_draft": own(DESK, address="/clients/new/"),
    "restore_appointment": Row(DESK, lambda w: {"appointment": w.appointment}),
    "mark_appointment": Row(DESK, lambda w: {"appointment": w.appointment, "kind": "late"}),
    "add_absence": Row(
        DESK,
        lambda w: {"stylist": w.stylist, "kind": "break", **_day(w)},
    ),
    "add_chair": own(OWNER, name="Window"),
    "add_hair_history": Row(
        DESK,
        lambda w: {
            "client": w.client,
            "work": "lightening",
            "origin": "told",
            "happened_date": w.at.date(),
        },
    ),
    "add_service": own(OWNER, name="Fringe", application_minutes=15),
    "add_waiting": Row(DESK, lambda w: {"client": w.client, "service": w.service}),
    "answer_safety_questions": Row(
        DESK, lambda w: {"client": w.client, "answers": {"scalp": "no"}}
    ),
    "book_appointment": Row(DESK, _booking),
    "book_series": Row(DESK, lambda w: {**_booking(w), "every_weeks": 6, "count": 2}),
    "cancel_appointment": Row(DESK, lambda w: {"appointment": w.appointment, "reason": "ill"}),
    "change_chair": Row(OWNER, lambda w: {"chair": w.chair, "name": "Door"}),
    "change_client": Row(
        DESK, lambda w: {"client": w.client, "expected_version": 1, "note": "tea"}
    ),
    "change_desk_policy": own(OWNER),
    "change_service": Row(OWNER, lambda w: {"service": w.service, "name": "Gloss"}),
    "change_template": own(OWNER, kind="appointment"),
    "check_in": Row(DESK, lambda w: {"appointment": w.appointment}),
    "close_yearly": own(OWNER, names=[], area=""),
    "close_days": own(OWNER, days={dt.date(2027, 1, 1): ""}),
    "close_feeds": own(BENCH),
    "close_waiting": Row(DESK, lambda w: {"entry": w.waiting}),
    "confirm_same_body": Row(DESK, lambda w: {"merge": w.merge}),
    "confirm_appointment": Row(DESK, lambda w: {"appointment": w.appointment}),
    "delete_withdrawn_photos": Row(OWNER, lambda w: {"client": w.client}),
    "correct_values": own(OWNER, corrected={}, removed=set(), versions={}),
    "remove_alike": own(OWNER, field="phone", text="k.A."),
    "reread_import": Row(
        OWNER,
        lambda w: {"loaded": w.loaded, "mapping": {}, "table": Table(["name"], [], set())},
    ),
    "discard_import": Row(OWNER, lambda w: {"loaded": w.loaded}),
    "finish_service": Row(DESK, lambda w: {"appointment": w.appointment}),
    "join_household": Row(DESK, lambda w: {"client": w.client, "other": w.other}),
    "leave_household": Row(DESK, lambda w: {"client": w.client}),
    "remove_alert": Row(DESK, lambda w: {"alert": w.alert, "text": "hears well"}),
    "load_import": own(OWNER, file_name="list.csv", table=None),
    "merge_clients": Row(DESK, lambda w: {"kept": w.client, "merged": w.other}),
    "move_appointment": Row(
        DESK,
        lambda w: {
            "appointment": w.appointment,
            "starts_at": w.at + DAY,
            "stylist": w.stylist,
        },
    ),
    "open_day": Row(OWNER, lambda w: {"closed": w.closed}),
    "open_feed": own(BENCH),
    "place_patch_test": Row(
        DESK,
        lambda w: {
            "client": w.client,
            "line": w.line,
            "site": "behind_left_ear",
            "batch": "B1",
            "applied_at": w.at,
        },
    ),
    "raise_alert": Row(DESK, lambda w: {"client": w.client, "kind": "other", "text": "deaf"}),
    "record_change": Row(DESK, lambda w: {"appointment": w.appointment}),
    "record_consent": Row(
        DESK,
        lambda w: {"client": w.client, "kind": "photos", "wording": "yes", "is_given": True},
    ),
    "record_export": own(OWNER, kind="csv"),
    "record_list_export": own(OWNER, name="consents"),
    "record_override": Row(OWNER, lambda w: {"appointment": w.appointment, "reason": "x"}),
    "record_patch_test_reading": Row(DESK, lambda w: {"test": w.test, "outcome": "reaction"}),
    "register_client": own(DESK, name="Ada Brandt"),
    "remove_absence": Row(DESK, lambda w: {"absence": w.absence}),
    "remove_photo": Row(BENCH, lambda w: {"photo": _Photo(w.salon.pk), "reason": "blurred"}),
    "record_not_the_same": Row(DESK, lambda w: {"first": w.client, "second": w.other}),
    "set_hours": own(
        OWNER, weekday=0, is_open=True, opens_at=dt.time(9), closes_at=dt.time(17)
    ),
    "set_week": own(OWNER, week=[]),
    "settle_reminder": Row(DESK, lambda w: {"reminder": w.reminder, "send_again": False}),
    "start_import": Row(OWNER, lambda w: {"loaded": w.loaded, "mapping": {"0": "name"}}),
    "start_service": Row(DESK, lambda w: {"appointment": w.appointment}),
    "stop_import": Row(OWNER, lambda w: {"taking": w.loaded}),
    "take_in_piece": Row(OWNER, lambda w: {"taking": w.loaded}),
    "take_photo": Row(
        BENCH,
        lambda w: {"appointment": w.appointment, "picture": None, "moment": "before"},
    ),
    "undo_check_in": Row(DESK, lambda w: {"appointment": w.appointment, "reason": "x"}),
    "undo_import": Row(OWNER, lambda w: {"done": w.loaded}),
    "undo_merge": Row(DESK, lambda w: {"merge": w.merge}),
    "undo_piece": Row(OWNER, lambda w: {"undoing": w.loaded}),
    "withdraw_hair_history": Row(DESK, lambda w: {"entry": w.hair_history, "note": "no"}),
}


def _visit(**more: Any) -> Row:
    return Row(BENCH, lambda w: {"visit": w.visit, **more})


def _bowl(**more: Any) -> Row:
    return Row(BENCH, lambda w: {"bowl": _OfVisit(w.visit), **more})


_CONSULT = {
    "record_client_export": Row(OWNER, lambda w: {"client": w.client}),
    "ask_move": Row(
        DESK,
        lambda w: {
            "client": w.client,
            "to_salon": w.branch,
            "method": "typed",
            "signed_name": "Ada",
        },
    ),
    "withdraw_move": Row(DESK, lambda w: {"move": w.given}),
    "refuse_move": Row(FRONT, lambda w: {"move": w.to_receive}),
    "receive_record": Row(FRONT, lambda w: {"move": w.to_receive}),
    "delete_received_record": Row(OWNER, lambda w: {"record": w.received}),
    "put_back_record": Row(DESK, lambda w: {"record": w.received}),
    "record_results_export": own(OWNER, table="lines"),
    "anchor_sign_offs": Row(OWNER, lambda w: {"salon": w.salon}),
    "answer_safety": _visit(answers={}),
    "choose": _visit(picks=[]),
    "close_visit": _visit(),
    "decide_formula": _visit(
        zones_key="roots", parts={}, source="suggested", bowl_grams=Decimal(60)
    ),
    "drop_draft": _visit(step="hair", part="roots"),
    "end_processing": _bowl(),
    "give_rinse_reason": _bowl(reason="there"),
    "undo_rinse": _bowl(),
    "weigh_leftover": _bowl(grams=Decimal(1)),
    "keep_draft": _visit(step="hair", part="roots", fields=[], base_version=1),
    "mail_card": Row(DESK, lambda w: {"visit": w.visit}),
    "mix_bowl": _visit(formula=None, poured={}, developer_grams=Decimal(60)),
    "note_check": _bowl(seen="nearly"),
    "note_presence": _visit(seat="x", step="hair"),
    "note_slip": Row(DESK, lambda w: {"test": w.test}),
    "open_visit": Row(BENCH, lambda w: {"appointment": w.appointment}),
    "read_hair": _visit(readings={}),
    "record_card": Row(DESK, lambda w: {"visit": w.visit, "kind": "card", "digest": "x"}),
    "record_pre_test": _visit(kind="strand", result="fine"),
    "record_step": _visit(kind="lighten"),
    "describe_reaction": _visit(signs=["itching"]),
    "report_reaction": _visit(),
    "take_back_reaction": _visit(),
    "revise_wording": own(OWNER, language="en-gb", statement="", understandings=""),
    "see_result": _visit(zones="roots", level=Decimal(6), warmth_left_percent=40),
    "see_results": _visit(looks={}),
    "settle_mail": Row(DESK, lambda w: {"mail": _OfVisit(w.visit), "answer": "left"}),
    "sign_off": _visit(choice=None, method="typed", signed_name="Ada"),
    "start_processing": _bowl(),
    "stop_visit": _visit(reason="ill"),
    "take_back_step": Row(BENCH, lambda w: {"step": _OfVisit(w.visit)}),
    "advance": _visit(to="hair", kind="x"),
}

_FORMULAS = {
    "accept_strengths": Row(OWNER, lambda w: {"line": w.line, "proposal": None}),
    "add_line": own(OWNER, name="Tidepool"),
    "add_listed_shades": Row(OWNER, lambda w: {"line": w.line, "listed": []}),
    "add_shade": Row(OWNER, lambda w: {"line": w.line, "name": "8 natural"}),
    "add_starter_line": own(OWNER, name="First", tubes=0, tube_grams=Decimal(60)),
    "answer_invented": Row(OWNER, lambda w: {"line": w.line, "answer": "known"}),
    "change_composition": Row(OWNER, lambda w: {"line": w.line}),
    "change_line": Row(OWNER, lambda w: {"line": w.line, "name": "Tidepool"}),
    "change_shade": Row(OWNER, lambda w: {"shade": w.shade, "name": "8 violet"}),
    "count_shelf": own(OWNER, counted=[]),
    "count_stock": Row(OWNER, lambda w: {"shade": w.shade, "grams": Decimal(60)}),
    "discard_stock": Row(OWNER, lambda w: {"shade": w.shade, "grams": Decimal(60)}),
    "draw_stock": Row(BENCH, lambda w: {"shade": w.shade, "grams": Decimal(60)}),
    "load_demo_line": own(OWNER, name="nobody's"),
    "receive_delivery": own(BENCH, delivered=[]),
    "receive_stock": Row(BENCH, lambda w: {"shade": w.shade, "grams": Decimal(60)}),
    "replace_chart_entry": own(OWNER),
    "revise_mixing_rules": own(OWNER),
    "revise_practice": own(OWNER),
    "restore_chart_entry": own(OWNER, level=Decimal(6), kind="natural"),
    "take_strengths_back": Row(OWNER, lambda w: {"line": w.line}),
}

TABLE: dict[str, Row] = {
    **{f"clients.{name}": row for name, row in _CLIENTS.items()},
    **{f"consult.{name}": row for name, row in _CONSULT.items()},
    **{f"formulas.{name}": row for name, row in _FORMULAS.items()},
    **{f"salon.{name}": row for name, row in SALON.items()},
}
