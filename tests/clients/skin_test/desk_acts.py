"""What one receptionist does at the desk: half of the acts that are put in any order."""

import contextlib
import datetime as dt

from django.core.exceptions import PermissionDenied, ValidationError
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    rule,
)

from clients import services
from clients.models import (
    Appointment,
    Client,
    ClientMerge,
    PatchTest,
    Status,
)
from salon.models import Role, Salon, Staff
from tests.factories.clients import ClientFactory, ServiceFactory, ToneFactory
from tests.factories.formulas import LineFactory
from tests.factories.salon import SalonFactory, StaffFactory

START = dt.datetime(2026, 3, 9, 9, tzinfo=dt.UTC)
REFUSALS = (
    PermissionDenied,
    ValidationError,
    services.AlreadyChecked,
    services.BirthDateStays,
    services.BookingRefused,
    services.CheckInRefused,
    services.MergeRefused,
    services.NeedsSecondPerson,
    services.PlacingRefused,
    services.ReadingRefused,
    services.StaleClient,
)
HELD = "a rule does not hold"
BIRTHS = (dt.date(1976, 2, 3), dt.date(1998, 7, 1), dt.date(2012, 5, 5), None)
pick = st.integers(min_value=0, max_value=99)


class DeskActs(RuleBasedStateMachine):
    """One receptionist at work, and what is true whatever the records say."""

    salon: Salon
    by: Staff
    let_in = 0  # how often colour was let in, over all sequences

    def __init__(self) -> None:
        super().__init__()
        self.salon = SalonFactory(time_zone="UTC")
        self.by = StaffFactory(salon=self.salon, role=Role.RECEPTIONIST)
        self.stylists = [StaffFactory(salon=self.salon, has_column=True) for _ in range(3)]
        self.lines = [LineFactory(salon=self.salon) for _ in range(2)]
        self.tone = ToneFactory(salon=self.salon)
        self.cut = ServiceFactory(salon=self.salon)
        self.people = [
            ClientFactory(salon=self.salon, birth_date=born, phone="+441174960101")
            for born in (*BIRTHS[:3], BIRTHS[0])
        ]
        self.at = START
        self.born = {one.pk: one.birth_date for one in self.people}  # as they really are
        self.body: dict[int, int] = {}  # whose skin an appointment was booked for
        self.placed: dict[int, tuple[int, int, dt.datetime]] = {}  # skin, line, by the clock
        self.clear: dict[tuple[int, int], list[dt.datetime]] = {}
        self.reacted: dict[tuple[int, int], dt.datetime] = {}
        self.last: tuple[int, int] | None = None
        self.voided: dict[int, list[dt.datetime]] = {}  # answers that undo a test, by skin

    def _try(self) -> contextlib.AbstractContextManager[None]:
        return contextlib.suppress(*REFUSALS)

    def _client(self, n: int) -> Client:
        return Client.objects.select_related("salon", "merged_into").get(
            pk=self.people[n % len(self.people)].pk
        )

    def _one(self, n: int, **which: object) -> Appointment | None:
        rows = Appointment.objects.for_show().select_related("salon", "client__salon")
        found = list(rows.filter(salon=self.salon, **which))
        return found[n % len(found)] if found else None

    @rule(hours=st.sampled_from([0.1, 1, 5, 24, 47, 49, 24 * 30]))
    def wait(self, hours: float) -> None:
        self.at += dt.timedelta(hours=hours)

    @rule(n=pick, line=pick, hour=st.integers(0, 9), is_colour=st.booleans())
    def book(self, n: int, line: int, hour: int, is_colour: bool) -> None:
        client = self._client(n)
        start = self.at.replace(hour=9, minute=0) + dt.timedelta(hours=hour)
        with self._try():
            made = services.book_appointment(
                client=client,
                service=self.tone if is_colour else self.cut,
                line=self.lines[line % 2] if is_colour else None,
                stylist=self.stylists[n % 3],
                starts_at=start,
                by=self.by,
                at=self.at,
            )
            self.body[made.pk] = made.client_id

    @rule(n=pick, line=pick)
    def change(self, n: int, line: int) -> None:
        one = self._one(n)
        if one is None:
            return
        with self._try():
            services.change_appointment(
                appointment=one,
                service=self.tone,
                line=self.lines[line % 2],
                chair=None,
                minutes=None,
                note="",
                by=self.by,
                at=self.at,
            )

    @rule(n=pick, hour=st.integers(0, 9))
    def move_to_today(self, n: int, hour: int) -> None:
        one = self._one(n, status=Status.BOOKED)
        if one is None:
            return
        start = self.at.replace(hour=9, minute=0) + dt.timedelta(hours=hour)
        with self._try():
            services.move_appointment(
                appointment=one, starts_at=start, stylist=one.stylist, by=self.by, at=self.at
            )

    @rule(n=pick, m=pick, is_same=st.booleans(), takes=st.booleans())
    def merge(self, n: int, m: int, is_same: bool, takes: bool) -> None:
        kept, merged = self._client(n), self._client(m)
        values = {"birth_date": merged.birth_date} if takes else {}
        with self._try():
            services.merge_clients(
                kept=kept,
                merged=merged,
                values=values,
                is_same_body=is_same,
                by=self.by,
                at=self.at,
            )

    @rule(n=pick)
    def confirm_or_undo_a_merge(self, n: int) -> None:
        merges = list(ClientMerge.objects.filter(salon=self.salon))
        if not merges:
            return
        merge = merges[n % len(merges)]
        with self._try():
            services.confirm_same_body(merge=merge, by=self.by, at=self.at)
        if n % 2:
            with self._try():
                services.undo_merge(merge=merge, by=self.by, at=self.at)

    @rule(n=pick, born=st.sampled_from(BIRTHS))
    def edit(self, n: int, born: dt.date | None) -> None:
        client = self._client(n)
        with self._try():
            services.change_client(
                client=client,
                expected_version=client.version,
                birth_date=born,
                birth_reason="typed wrongly",
                by=self.by,
                at=self.at,
            )

    @rule(n=pick, line=pick, hours_ago=st.sampled_from([0, 0, 0.1, 3, 49, 200]))
    def place(self, n: int, line: int, hours_ago: float) -> None:
        client, product = self._client(n), self.lines[line % 2]
        with self._try():
            test = services.place_patch_test(
                client=client,
                line=product,
                site="behind_left_ear",
                batch="B1",
                applied_at=self.at - dt.timedelta(hours=hours_ago),
                late_reason="forgotten",
                by=self.by,
                at=self.at,
            )
            skin = client.merged_into_id or client.pk
            self.placed[test.pk] = (skin, product.pk, self.at)

    @rule(n=pick, outcome=st.sampled_from(["no_reaction", "no_reaction", "reaction"]),
          back=st.sampled_from([0, 0, 50]))  # fmt: skip
    def read(self, n: int, outcome: str, back: float) -> None:
        tests = list(PatchTest.objects.filter(client__salon=self.salon).order_by("pk"))
        if not tests:
            return
        test = tests[n % len(tests)]
        with self._try():
            services.record_patch_test_reading(
                test=test,
                outcome=outcome,
                signs="red" if outcome == "reaction" else "",
                read_at=self.at - dt.timedelta(hours=back),
                by=self.by,
                at=self.at,
            )
            skin, line, placed_at = self.placed[test.pk]
            if outcome == "reaction":
                self.reacted.setdefault((skin, line), self.at)
            elif self.at >= placed_at + dt.timedelta(hours=47, minutes=44):
                # 15 minutes of a placing are free, so the clock may be that much behind
                self.clear.setdefault((skin, line), []).append(placed_at)
