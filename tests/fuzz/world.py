"""One salon with something of everything, and the address of each route in it."""

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from django.db import models, transaction
from django.test import Client as Browser
from django.urls import Resolver404, URLPattern, URLResolver, get_resolver, resolve, reverse

from clients import services as desk
from clients.models import (
    Absence,
    AlertKind,
    Appointment,
    Client,
    ClientAlert,
    ClientImport,
    ClientMerge,
    ClosedDay,
    HairHistoryEntry,
    PatchTest,
    Photo,
    Reminder,
    WaitingEntry,
)
from clients.people import csv_file
from consult.models import Anchor, BowlMixed, SignOff, Visit, VisitStep
from formulas.models import ProductLine, Shade
from salon.models import Role, Salon, Staff
from tests.factories.clients import ClientFactory, ServiceFactory
from tests.factories.consult import Story, opened
from tests.factories.photos import agree, phone_picture
from tests.factories.salon import StaffFactory

AT = dt.datetime(2026, 3, 11, 10, tzinfo=dt.UTC)
_DAY = dt.timedelta(days=1)

# What the number in an address stands for, by the word before it.
ROWS: dict[str, type[models.Model]] = {
    "team": Staff,
    "appointments": Appointment,
    "clients": Client,
    "imports": ClientImport,
    "merge": ClientMerge,
    "hair-history": HairHistoryEntry,
    "alerts": ClientAlert,
    "waiting": WaitingEntry,
    "away": Absence,
    "closed": ClosedDay,
    "reminders": Reminder,
    "patch-tests": PatchTest,
    "lines": ProductLine,
    "shades": Shade,
    "stock": Shade,
    "visits": Visit,
    "anchors": Anchor,
}
PARTS: dict[str, Any] = {"bowl": BowlMixed, "signed": SignOff, "step": VisitStep}
WORDS = {
    "day": "2026-03-11", "moment": "before", "kind": "appointment", "token": "x",
    "uidb64": "MQ",
}  # fmt: skip


@dataclass
class World:
    """The salon, its owner's browser, and the forms that its pages show."""

    salon: Salon
    owner: Staff
    visits: dict[str, Visit]
    browser: Browser
    forms: dict[str, dict[str, list[str]]] = field(default_factory=dict)

    def address(self, name: str, route: str) -> str:
        """Return where a route leads: to rows that exist."""
        given: dict[str, Any] = {}
        for before, argument in re.findall(r"([\w-]*)/?<\w+:(\w+)>", route):
            if argument == "pk":
                given["pk"] = self._row(name, before)
            elif argument == "key":
                given["key"] = Photo.objects.get().key
            elif argument in PARTS:
                part = PARTS[argument].objects.filter(visit=given["pk"]).first()
                given[argument] = part.pk if part else 1
            else:
                given[argument] = WORDS.get(argument, 1)
        return reverse(name, kwargs=given)

    def _row(self, name: str, before: str) -> int:
        if before == "visits":
            step = name.split(":")[1]
            return self.visits.get(step, self.visits["result"]).pk
        if before == "appointments" and name.startswith("consult:"):
            return self.visits["safety"].appointment_id
        model = ROWS.get(before)
        row = model._base_manager.order_by("pk").first() if model else None
        return row.pk if row else 1


def routes() -> Iterator[tuple[str, str]]:
    """Yield every named route with its pattern."""

    def walk(
        patterns: list[URLPattern | URLResolver], space: str, before: str
    ) -> Iterator[tuple[str, str]]:
        for one in patterns:
            here = before + str(one.pattern)
            if isinstance(one, URLResolver):
                yield from walk(one.url_patterns, one.namespace or space, here)
            elif isinstance(one, URLPattern):
                yield f"{space}:{one.name}", here

    yield from walk(get_resolver().url_patterns, "", "")


def build(salon: Salon) -> World:
    """Return a salon in which every route has something to show."""
    owner = StaffFactory(salon=salon, role=Role.OWNER, has_column=True)
    stages = {name: _story(salon, owner, name) for name in _STAGES}
    told = stages["result"]
    client = told.visit.client
    agree(told.visit.appointment, owner, AT)
    desk.take_photo(
        appointment=told.visit.appointment, picture=phone_picture(), moment="before",
        by=owner, at=AT,
    )  # fmt: skip
    desk.raise_alert(client=client, kind=AlertKind.ALLERGY, text="Latex", by=owner, at=AT)
    desk.add_hair_history(
        client=client, work="henna", origin="told", happened_date=AT.date(), by=owner, at=AT
    )
    other = ClientFactory(salon=salon)
    desk.merge_clients(kept=client, merged=other, by=owner, at=AT)
    service = ServiceFactory(salon=salon)
    desk.add_waiting(
        client=client, service=service, line=None, stylist=None, from_date=AT.date(),
        until_date=AT.date() + 9 * _DAY, note="", by=owner, at=AT,
    )  # fmt: skip
    desk.close_days(days={AT.date() + 30 * _DAY: ""}, by=owner, at=AT)
    Absence.objects.create(
        salon=salon, stylist=owner, kind="break", starts_at=AT + 3 * _DAY,
        ends_at=AT + 3 * _DAY + dt.timedelta(hours=1),
    )  # fmt: skip
    Reminder.objects.create(
        salon=salon,
        client=client,
        kind="appointment",
        key="fuzz",
        due_at=AT,
        queued_at=AT,
        expires_at=AT + _DAY,
    )
    table = csv_file.read(b"name,email\nIda Vogt,ida@example.com\n")
    desk.load_import(file_name="a.csv", table=table, by=owner, at=AT)
    browser = Browser()
    browser.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    visits = {step: stages[stage].visit for step, stage in _SEEN_AT.items()}
    world = World(salon, owner, visits, browser)
    _harvest(world)
    return world


_STAGES = ("safety", "hair", "choice", "sign", "bench", "result", "card")
_SEEN_AT = {
    **{name: name for name in _STAGES},
    "stop": "hair",
    "pre_tests": "hair",
    "steps": "hair",
    "client_choice": "choice",
    "client_sign": "sign",
    "formula": "bench",
    "prediction": "bench",
    "rescale": "bench",
}


def _story(salon: Salon, by: Staff, stage: str) -> Story:
    story = opened(salon, stylist=by, at=AT - dt.timedelta(hours=2), name=f"Ada {stage}")
    steps = (
        ("hair", story.answer),
        ("choice", story.read),
        ("sign", story.choose),
        ("bench", lambda: (story.sign(), story.decide())),
        ("result", story.process),
        ("card", story.see),
    )
    for name, step in steps:
        if _STAGES.index(name) > _STAGES.index(stage):
            break
        step()
    story.visit.refresh_from_db()
    return story


class _Forms(HTMLParser):
    """Gathers each form's address and values, as a browser would send them."""

    def __init__(self, here: str) -> None:
        super().__init__()
        self.here = here
        self.found: list[tuple[str, dict[str, list[str]]]] = []
        self.select = ""
        self.area = ""

    def handle_starttag(self, tag: str, pairs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in pairs}
        if tag == "form":
            self.found.append((given.get("action") or self.here, {}))
        if not self.found:
            return
        values = self.found[-1][1]
        name = given.get("name", "")
        is_meant = given.get("value") or "selected" in given
        is_first = not values.get(self.select) or "selected" in given
        if tag == "option" and self.select and is_meant and is_first:
            values[self.select] = [given.get("value", "")]
        if not name:
            return
        if tag == "select":
            self.select = name
            values.setdefault(name, [])
        elif tag == "textarea":
            self.area = name
            values[name] = [""]
        elif tag in {"input", "button"} and (
            given.get("type") not in {"radio", "checkbox"}
            or name not in values
            or "checked" in given
        ):
            values[name] = [given.get("value", "on" if tag == "input" else "")]

    def handle_data(self, data: str) -> None:
        if self.area and self.found:
            self.found[-1][1][self.area] = [data]

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self.select = ""
        if tag == "textarea":
            self.area = ""


def _harvest(world: World) -> None:
    """Look at every page and keep the fields of every form by the route that it is sent to."""
    for name, route in routes():
        address = world.address(name, route)
        with transaction.atomic():
            response = world.browser.get(address)
            transaction.set_rollback(True)
        if "html" not in response.headers.get("Content-Type", "") or response.streaming:
            continue
        parser = _Forms(address)
        parser.feed(response.content.decode())
        for action, values in parser.found:
            try:
                target = resolve(action.split("?")[0]).view_name
            except Resolver404:
                continue
            values.pop("csrfmiddlewaretoken", None)
            values.pop("once", None)
            world.forms.setdefault(target, {}).update(values)
