"""Visits and every change made to them."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.models import Appointment, Client
from formulas.models import ProductLine
from salon.append_only import AppendOnlyModel
from salon.models import Salon


class Status(models.TextChoices):
    """Whether a visit goes on; `consult.visit.facts` reads everything else from its records."""

    OPEN = "open", _("open")
    CLOSED = "closed", _("closed")
    STOPPED = "stopped", _("ended without colour")


ENDED = (Status.CLOSED, Status.STOPPED)


class VisitQuerySet(models.QuerySet["Visit"]):
    """Visits of one salon."""

    def for_salon(self, salon: Salon) -> "VisitQuerySet":
        return self.filter(salon=salon)

    def open(self) -> "VisitQuerySet":
        return self.filter(status=Status.OPEN)

    def of_person(self, client: Client) -> "VisitQuerySet":
        """Those of every entry of the same person in the register.

        The entries are read first: inside of the query PostgreSQL would guess that they have
        many visits, and read all that there are.
        """
        return self.filter(client__in=client.entries_of_person)

    def closed(self) -> "VisitQuerySet":
        return self.filter(status=Status.CLOSED)

    def closed_before(self, visit: "Visit") -> "VisitQuerySet":
        """The person's closed visits before this one, latest first."""
        earlier = self.of_person(visit.client).closed().filter(opened_at__lt=visit.opened_at)
        return earlier.order_by("-opened_at", "-pk")

    def with_latest(self) -> "VisitQuerySet":
        """With the kind of the last thing that happened, as `latest_kind`."""
        events = VisitEvent.objects.filter(visit=models.OuterRef("pk")).order_by("-version")
        return self.annotate(latest_kind=models.Subquery(events.values("kind")[:1]))

    def for_show(self) -> "VisitQuerySet":
        return self.select_related(
            "client__salon",
            "client__merged_into",
            "stylist",
            "line__salon",
            "appointment__service",
            "appointment__chair",
            "salon",
        )


class Visit(models.Model):
    """One client in one chair: everything of the consultation and the bench hangs on it."""

    salon = models.ForeignKey(Salon, on_delete=models.PROTECT, related_name="visits")
    appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, related_name="visits"
    )
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="visits")
    stylist = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="visits"
    )
    line = models.ForeignKey(ProductLine, on_delete=models.PROTECT, related_name="visits")
    status = models.CharField(max_length=10, choices=Status.choices, default=Status.OPEN)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    stop_reason = models.CharField(_("reason"), max_length=200, blank=True)
    next_visit_date = models.DateField(_("next visit"), null=True, blank=True)
    next_appointment = models.ForeignKey(
        Appointment, on_delete=models.PROTECT, null=True, blank=True, related_name="held_by"
    )
    corrects = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="corrections",
        verbose_name=_("visit that this one corrects"),
    )
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["-opened_at", "-pk"]
        indexes = [
            models.Index(fields=["client", "-opened_at"], name="visit_by_client"),
            models.Index(fields=["salon", "status", "-opened_at"], name="visit_by_salon"),
            models.Index(fields=["line", "-closed_at"], name="visit_by_line"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["appointment"],
                condition=~Q(status__in=["closed", "stopped"]),
                name="one_open_visit_per_appointment",
            ),
            models.CheckConstraint(
                condition=Q(status__in=Status.values), name="visit_status_known"
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) & ~Q(status__in=list(ENDED))
                | Q(closed_at__isnull=False, status__in=list(ENDED)),
                name="visit_has_ended_when_it_says_so",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | Q(closed_at__gte=F("opened_at")),
                name="visit_ends_after_it_opened",
            ),
            models.CheckConstraint(
                condition=~Q(corrects=F("id")), name="visit_does_not_correct_itself"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.client} {self.opened_at:%Y-%m-%d}"

    @property
    def has_ended(self) -> bool:
        """Whether nothing can be changed any more."""
        return self.status in ENDED

    @property
    def latest_label(self) -> str:
        """What happened last, in words; asks for `with_latest`."""
        if self.has_ended:
            return str(self.get_status_display())
        kind = getattr(self, "latest_kind", "")
        return str(EVENT_WORDS.get(kind, kind))


class VisitEvent(AppendOnlyModel):
    """One change of a visit. The version is unique: two people cannot both make the next."""

    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, related_name="events")
    version = models.PositiveIntegerField()
    kind = models.CharField(max_length=40)
    # Rows of earlier releases name the step that was then due; these are append-only.
    status = models.CharField(max_length=10)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(AppendOnlyModel.Meta):
        ordering = ["version"]
        constraints = [
            models.UniqueConstraint(fields=["visit", "version"], name="visit_version_once"),
        ]

    def __str__(self) -> str:
        return f"{self.visit_id}.{self.version} {self.kind}"

    @property
    def label(self) -> str:
        """What happened, for the screen."""
        return str(EVENT_WORDS.get(self.kind, self.kind))


EVENT_WORDS = {
    "visit opened": _("visit begun"),
    "safety answered": _("safety questions answered"),
    "hair read": _("hair read"),
    "pre-test recorded": _("pre-test recorded"),
    "step recorded": _("step recorded"),
    "step corrected": _("step corrected"),
    "step taken back": _("step removed"),
    "place chosen": _("place chosen"),
    "choice signed": _("choice signed"),
    "formula decided": _("formula decided"),
    "bowl mixed": _("bowl mixed"),
    "processing started": _("processing started"),
    "rinsed": _("rinsed"),
    "colour reacted": _("reaction: all clocks stopped"),
    "reaction described": _("reaction described"),
    "reaction pressed by mistake": _("reaction alarm pressed by mistake"),
    "result seen": _("result saved"),
    "visit closed": _("visit closed"),
    "visit stopped": _("visit ended without colour"),
}
