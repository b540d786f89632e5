"""What an empty salon still needs before its first client, worked out from what is there."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from clients.models import Appointment, Chair, Client, OpeningHours, Service
from consult.models import StatementWording, Visit
from formulas.selectors import shelf
from salon import mail
from salon.models import Device, Salon
from salon.selectors import columns, policy_in_force

# What a salon can do without; everything else is needed before the first client.
MAY_DECLINE = {"wording", "tablets", "mail"}


@dataclass(frozen=True)
class Step:
    """One thing to do: why, where, and whether it is done.

    `decline` are the words of the button that does without it, where a salon can.
    """

    key: str
    title: str
    why: str
    action: str
    href: str
    is_done: bool
    decline: str = ""


def steps(*, salon: Salon) -> list[Step]:
    """Return the steps in the order in which they build on each other."""
    declined = set(salon.steps_declined)
    services = Service.objects.filter(salon=salon, is_active=True)
    has_stock = any(
        shade.grams > 0  # type: ignore[attr-defined]
        for shade in shelf(salon=salon)
    )
    return [
        Step(
            "salon",
            _("Phone and address"),
            _("They are on every slip and card: a client with a reaction must reach you."),
            _("Enter the salon's details"),
            reverse("salon:details"),
            bool(salon.phone),
        ),
        Step(
            "hours",
            _("Opening hours"),
            _("You can only book inside these hours."),
            _("Set your opening hours"),
            reverse("clients:set_week"),
            OpeningHours.objects.filter(salon=salon).exists(),
        ),
        Step(
            "staff",
            _("Who takes clients"),
            _("Tick “takes clients” for yourself, or add the people who work with you."),
            _("Go to the team"),
            reverse("salon:house"),
            columns(salon=salon).exists(),
        ),
        Step(
            "policy",
            _("Patch-test rules"),
            _(
                "Compare them with your insurer's terms and local rules, then put them "
                "in force."
            ),
            _("Read the rules"),
            reverse("salon:policy"),
            policy_in_force(salon=salon).number > 1,
        ),
        Step(
            "line",
            _("A line with shades in stock"),
            _(
                "Suggestions use what is in stock. Start with the ready-made set, or "
                "with your own line."
            ),
            _("Add a starter line"),
            reverse("formulas:starter_line"),
            has_stock,
        ),
        Step(
            "service",
            _("What you offer"),
            _("Your first colour service: application, processing, finish."),
            _("Add a service"),
            reverse("clients:add_service"),
            services.filter(is_colour=True).exists(),
        ),
        Step(
            "test_visit",
            _("Patch-test visit"),
            _("A short visit to place or read a test. We offer it when a test is missing."),
            _("Add the visit"),
            f"{reverse('clients:add_service')}?kind=test",
            services.filter(is_patch_test=True).exists(),
        ),
        Step(
            "chair",
            _("Where clients sit"),
            _("Two bookings never share a chair."),
            _("Add a chair"),
            reverse("clients:add_chair"),
            Chair.objects.filter(salon=salon, is_active=True).exists(),
        ),
        Step(
            "wording",
            _("What clients sign"),
            _("Read it as a client would. Word it your way, or keep it as it is."),
            _("Read the text"),
            reverse("consult:wording"),
            "wording" in declined or StatementWording.objects.filter(salon=salon).exists(),
            _("Keep this text"),
        ),
        Step(
            "tablets",
            _("Tablets at the bench"),
            _("On an enrolled tablet people switch by PIN. Open this page on the tablet."),
            _("Enrol a tablet"),
            reverse("salon:devices"),
            "tablets" in declined or Device.objects.in_salon(salon).in_force().exists(),
            _("We sign in with passwords"),
        ),
        *_mail(declined),
        Step(
            "client",
            _("The first client"),
            _("Name and birth date are enough; the rest can wait."),
            _("Add a client"),
            reverse("clients:new"),
            Client.objects.for_salon(salon).exists(),
        ),
        Step(
            "booking",
            _("The first appointment"),
            _("A colour appointment shows which patch test it needs, and by when."),
            _("Book"),
            reverse("clients:book"),
            Appointment.objects.for_salon(salon).exists(),
        ),
    ]


def _mail(declined: set[str]) -> list[Step]:
    """Return what is missing for mails to leave; nothing where they do."""
    if not mail.has_no_server():
        return []
    return [
        Step(
            "mail",
            _("Mail"),
            _(
                "Without a mail server no reminder and no card leaves. The person who "
                "runs the server sets EMAIL_URL."
            ),
            _("See what would be sent"),
            reverse("clients:reminders"),
            "mail" in declined,
            _("We do without mail"),
        ),
    ]


def lead_home(*, salon: Salon) -> bool:
    """Return whether the owner's day still starts here: no visit yet, and something to do."""
    if salon.first_steps_put_away or Visit.objects.for_salon(salon).exists():
        return False
    return not all(step.is_done for step in steps(salon=salon))
