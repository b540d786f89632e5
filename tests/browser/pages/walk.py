"""A salon with something on every page, and the address of every page for every role.

Filled by the demo's own stories without the eighteen months of visits, so it takes seconds.
Pages come from the table of roles: a new route is walked by itself, or fails here with the
kind of record that its address needs.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import time_machine
from django.conf import settings
from django.core.management import call_command
from django.test import Client as TestClient
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page
from pytest_django.live_server_helper import LiveServer

from clients import services as desk
from clients.models import (
    Absence,
    Appointment,
    ClientAlert,
    ClientImport,
    ClientMerge,
    ClosedDay,
    HairHistoryEntry,
    MoveState,
    PatchTest,
    ReceivedRecord,
    RecordMove,
    Reminder,
    ReminderKind,
)
from clients.people import csv_file
from consult import services as consultation
from consult.demo import cast, patch_stories, today_stories
from consult.demo import house as demo_house
from consult.demo.house import House
from consult.demo.visit_stories import Planned, build_visit
from consult.models import Anchor, SignOff, Visit
from consult.visit.loading import facts_of
from consult.visit.path import Step
from salon.linked_salons.services import link_accounts
from salon.models import Role, Staff
from tests.browser.conftest import PATIENCE
from tests.factories.clients import ClientFactory, agree
from tests.factories.salon import SalonFactory, StaffFactory
from tests.project.role_table import TABLE
from tests.project.test_roles import ROUTES
from tests.typed import present

MOMENT = dt.datetime(2026, 11, 25, 10, 20, tzinfo=dt.UTC)
NOT_PAGES = {
    "clients:booking_day",  # drawn inside the form of a booking
    "clients:booking_tests",
    "consult:prediction",  # drawn inside a page
    "consult:rescale",
    "salon:switch",  # on an enrolled device only
}
CLIENT_VIEW = re.compile("^consult:(client_|leave_client)")
PLACE = re.compile(r'href="(\?zones=[^"&]+)"')
MIX = re.compile(r'name="mix" value="([^"]+)"')
Visitor = TestClient  # a session, of which a browser takes the cookie
ROLES = (Role.OWNER, Role.STYLIST, Role.RECEPTIONIST)


@dataclass
class Walk:
    """A filled salon behind a live server."""

    built: House
    browser: Browser
    server: LiveServer
    contexts: list[BrowserContext] = field(default_factory=list)
    barer: set[str] = field(default_factory=set)  # pages that another record or role fills more

    def staff(self, role: Role) -> Staff:
        name = {Role.OWNER: "brigid", Role.STYLIST: "tomasz", Role.RECEPTIONIST: "imke"}[role]
        return self.built.staff[name]

    def visitor(self, role: Role) -> Visitor:
        client = Visitor()
        client.force_login(
            self.staff(role), backend="django.contrib.auth.backends.ModelBackend"
        )
        return client

    def seat(
        self, visitor: Visitor, *, width: int = 1024, height: int = 768, **how: object
    ) -> Page:
        """Return a page of a browser of their own, signed in; `how` goes to its context."""
        context = self.browser.new_context(
            base_url=self.server.url,
            viewport={"width": width, "height": height},
            locale="en-GB",
            service_workers="block",  # it hands out files slower than the cache does
            **how,  # type: ignore[arg-type]
        )
        context.set_default_timeout(PATIENCE * 1000)
        self.contexts.append(context)
        name = settings.SESSION_COOKIE_NAME
        value = visitor.cookies[name].value
        context.add_cookies([{"name": name, "value": value, "url": self.server.url}])
        return context.new_page()

    def pages(self, role: Role, visitor: Visitor) -> list[str]:
        """Return the address of every page that the role can open, each once."""
        found = []
        for name in sorted(TABLE):
            if role not in TABLE[name] or name in NOT_PAGES or CLIENT_VIEW.match(name):
                continue
            answers = self._answers(visitor, name)
            found += [answers[0], answers[-1]] if answers else []
            self.barer |= {answers[0]} - {answers[-1]} if answers else set()
            if name == "consult:formula" and answers:
                found += self._opened(visitor, answers[-1])
        return list(dict.fromkeys(found))

    def _opened(self, visitor: Visitor, formula: str) -> list[str]:
        """Return what is opened from a formula's page: the editor, two mixes side by side."""
        page = visitor.get(formula).text
        place = present(PLACE.search(page)).group(1)
        mixes = list(dict.fromkeys(MIX.findall(page)))[:2]
        assert len(mixes) == 2
        return [f"{formula}{place}", f"{formula}compare/{place}&mix={mixes[0]}&mix={mixes[1]}"]

    def client_views(self) -> Iterator[tuple[Visitor, str]]:
        """Yield who has handed the tablet over, and what it then shows."""
        for step in (Step.CHOICE, Step.SIGN):
            visit = next(
                one
                for one in Visit.objects.open()
                if facts_of(one, at=timezone.now()).due == step
            )
            to, visitor = step.value, self.visitor(Role.STYLIST)
            shown = visitor.post(reverse("consult:hand_over", args=[visit.pk]), {"to": to})
            assert shown.headers["Location"] == reverse(f"consult:client_{to}", args=[visit.pk])
            yield visitor, shown.headers["Location"]
        yield visitor, reverse("consult:client_done", args=[visit.pk])

    def _answers(self, visitor: Visitor, name: str) -> list[str]:
        """Return the first record's page and the last one's: the emptiest and the fullest."""
        addresses = self.addresses(name)
        first = self._first_answer(visitor, name, addresses)
        return [first, self._first_answer(visitor, name, addresses[::-1])] if first else []

    def _first_answer(self, visitor: Visitor, name: str, addresses: list[str]) -> str:
        for address in addresses:
            answer = visitor.get(address)
            if answer.status_code == 405:
                return ""  # only posted to
            if answer.status_code == 302 or (answer.status_code == 404 and ROUTES[name]):
                continue  # a step that is not due, or a part that this record has not
            assert answer.status_code == 200, f"{address} answers {answer.status_code}"
            html = answer.headers["Content-Type"].startswith("text/html")
            return address if html else ""
        return ""

    def addresses(self, name: str) -> list[str]:
        """Return the addresses of a route, one for each record that it may show."""
        needs = set(ROUTES[name])
        given: dict[str, object] = {"day": "2026-11-25"} if "day" in needs else {}
        if "kind" in needs:
            given["kind"] = ReminderKind.values[0]
        if "signed" in needs:
            signed = present(SignOff.objects.first())
            return [reverse(name, kwargs={"pk": signed.visit_id, "signed": signed.pk})]
        if "key" in needs:
            return []  # a picture
        if "moment" in needs:
            given["moment"] = "before"
        for extra in needs - {"pk", *given}:
            given[extra] = 1
        if "pk" not in needs:
            return [reverse(name, kwargs=given)]
        return [reverse(name, kwargs={**given, "pk": pk}) for pk in self._ids(name, given)]

    def _ids(self, name: str, given: dict[str, object]) -> list[int]:
        path = reverse(name, kwargs={**given, "pk": 999_999_999})
        place = path[1 : path.index("999999999")].rstrip("/")
        salon = self.built.salon
        ids: dict[str, Callable[[], Iterable[int]]] = {
            "evidence/anchors": lambda: Anchor.objects.values_list("pk", flat=True),
            "visits": lambda: Visit.objects.order_by("opened_at", "pk").values_list(
                "pk", flat=True
            ),
            "clients": lambda: [self.built.clients[g.name].pk for g in cast.REGULARS[:2]],
            "appointments": lambda: (
                Appointment.objects.filter(salon=salon)
                .order_by("starts_at")
                .values_list("pk", flat=True)
            ),
            "patch-tests": lambda: PatchTest.objects.filter(readings__isnull=True).values_list(
                "pk", flat=True
            ),
            "alerts": lambda: ClientAlert.objects.values_list("pk", flat=True),
            "hair-history": lambda: HairHistoryEntry.objects.values_list("pk", flat=True),
            "reminders": lambda: Reminder.objects.values_list("pk", flat=True),
            "hours/closed": lambda: ClosedDay.objects.values_list("pk", flat=True),
            "team": lambda: [self.staff(Role.STYLIST).pk],
            "hours/away": lambda: Absence.objects.values_list("pk", flat=True),
            "lines": lambda: [self.built.lines[0].pk],
            "histories/lines": lambda: [self.built.lines[0].pk],
            "shades": lambda: [self.built.lines[0].shades.all()[3].pk],
            "stock": lambda: [self.built.lines[0].shades.all()[3].pk],
            "clients/imports": lambda: ClientImport.objects.values_list("pk", flat=True),
            "clients/merge": lambda: ClientMerge.objects.values_list("pk", flat=True),
            "records-to-receive": lambda: RecordMove.objects.filter(
                state=MoveState.WAITING
            ).values_list("pk", flat=True),
            "received-records": lambda: ReceivedRecord.objects.values_list("pk", flat=True),
            "services": lambda: [self.built.services["Tone and finish"].pk],
            "chairs": lambda: [self.built.chairs[0].pk],
            "salon/team": lambda: [self.staff(Role.STYLIST).pk],
        }
        if place not in ids:
            answer = self.visitor(Role.OWNER).get(path)
            assert answer.status_code == 405, f"walk.py: which record does {name} show?"
            return []
        return list(ids[place]())

    def close(self) -> None:
        for context in self.contexts:
            context.close()
        self.contexts.clear()


@contextmanager
def walking(browser: Browser) -> Iterator[Walk]:
    """Fill the salon, serve it, and empty the database again."""
    with time_machine.travel(MOMENT, tick=True):
        built = fill()
        server = LiveServer("127.0.0.1")
        walk = Walk(built, browser, server)
        try:
            yield walk
        finally:
            walk.close()
            server.stop()
            call_command("flush", interactive=False, verbosity=0)


def fill() -> House:
    """Tell the demo's stories of today, and add what they leave out."""
    now = timezone.now().replace(microsecond=0)
    built = demo_house.build(now=now, seed=7)
    patch_stories.build(built)
    for place, upto in enumerate(("sign", "closed", "closed")):
        _visit(built, place, upto)
    today_stories.build(built)
    desk.add_hair_history(
        client=built.clients[cast.REGULARS[0].name], work="henna", origin="told",
        happened_date=now.date() - dt.timedelta(days=200), by=built.desk, at=now,
    )  # fmt: skip
    desk.add_absence(
        stylist=built.stylists[1], kind="break", first=now.date() + dt.timedelta(days=1),
        last=now.date() + dt.timedelta(days=1), start=dt.time(12), end=dt.time(13),
        by=built.desk, at=now,
    )  # fmt: skip
    table = csv_file.read(b"name,phone\nHedda Lunn,+441174960123\n,no name\n")
    desk.load_import(file_name="list.csv", table=table, by=built.owner, at=now)
    desk.queue_reminders(salon=built.salon, at=now)
    _records_from_elsewhere(built, now)
    return built


def _records_from_elsewhere(built: House, now: dt.datetime) -> None:
    """Let two clients of another salon sign for a copy here; one is received, one waits."""
    boss = StaffFactory(salon=SalonFactory(name="Harbour House"), role=Role.OWNER)
    link_accounts(other_id=built.owner.pk, by=boss, at=now)
    for name, is_received in (("Petra Quill", True), ("Ines Marrow", False)):
        client = ClientFactory(salon=boss.salon, name=name)
        agree(client, by=boss, at=now)
        move = consultation.ask_move(
            client=client, to_salon=built.salon, method="typed", signed_name=name,
            by=boss, at=now,
        )  # fmt: skip
        if is_received:
            consultation.receive_record(move=move, by=built.desk, at=now)


def _visit(built: House, place: int, upto: str) -> None:
    guest = cast.REGULARS[10 + place]
    day = (built.now - dt.timedelta(days=30 if upto == "closed" else 1)).date()
    starts_at = built.at(day, 10 + 2 * place)
    client, line = built.clients[guest.name], built.lines[guest.line]
    patch_stories.place_and_read(built, client, line, starts_at - dt.timedelta(days=4))
    booked = desk.book_appointment(
        client=client, service=built.services["Tone and finish"], line=line,
        stylist=built.stylists[0], starts_at=starts_at, by=built.desk,
        at=starts_at - dt.timedelta(days=8),
    )  # fmt: skip
    build_visit(built, Planned(starts_at, guest, built.stylists[0], place), booked, upto=upto)
