"""What was set up: addresses, the proxy, each salon's own details, the worker."""

from collections.abc import Iterator
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import Tags, run_checks
from django.core.checks.messages import ERROR
from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone

from salon import key_inventory
from salon.doctor import SUBJECTS, Finding, fine, odd, wrong
from salon.models import Role, Salon, Staff
from salon.work import status


def checks() -> Iterator[Finding]:
    """Run Django's checks, those of a deployment and of the database among them."""
    deploys = settings.MODE != "local"
    found = run_checks(include_deployment_checks=deploys)
    found += run_checks(tags=[Tags.database], databases=[connection.alias])
    seen = set()
    for message in found:
        if message.is_silenced() or (message.id, message.msg) in seen:
            continue
        seen.add((message.id, message.msg))
        make = wrong if message.level >= ERROR else odd
        subject = SUBJECTS.get(message.id or "", "Settings")
        yield make(
            subject, str(message.msg), str(message.hint or "See Django's documentation.")
        )
    for subject, ids in _by_subject().items():
        if not ids & {message.id for message in found}:
            yield fine(subject, "No check found a fault.")


def _by_subject() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for name, subject in SUBJECTS.items():
        found.setdefault(subject, set()).add(name)
    return found


def keys() -> Iterator[Finding]:
    """Look which keys have been in use for longer than the settings say."""
    now = timezone.now()
    found = key_inventory.keys(at=now)
    due = [key for key in found if key.is_due(now)]
    for key in due:
        yield odd(
            "Age of keys",
            f"{key.kind} {key.fingerprint} is in use since {key.since:%d %B %Y}.",
            key.what_to_do,
        )
    if not due:
        ends = min(key.due_at for key in found if key.due_at)
        yield fine("Age of keys", f"The first is due on {ends:%d %B %Y} (`manage.py keys`).")


def proxy() -> Iterator[Finding]:
    """Look whether the number of proxies fits the way in."""
    if settings.MODE == "local":
        return
    believes = getattr(settings, "SECURE_PROXY_SSL_HEADER", None)
    if believes and not settings.PROXY_COUNT:
        yield wrong(
            "Proxy",
            "A proxy speaks TLS for this service, but PROXY_COUNT is 0: everybody seems to come"
            " from the proxy, and six wrong passwords of one lock a name for all.",
            "Set PROXY_COUNT to the number of proxies on the way, 1 for the one that comes with"
            " the product.",
        )
    else:
        yield fine("Proxy", f"{settings.PROXY_COUNT} on the way.")


def addresses() -> Iterator[Finding]:
    """Look at the names that the salon is reached by."""
    if settings.MODE == "local":
        yield odd(
            "Address",
            "SALON_MODE is local: plain HTTP, keys made by the machine itself.",
            "Good for a demo. For a salon set SALON_MODE=production.",
        )
        return
    if "*" in settings.ALLOWED_HOSTS:
        yield wrong(
            "Address",
            "ALLOWED_HOSTS takes any name: links in mails could lead elsewhere.",
            "Name the salon's own addresses.",
        )
    parts = urlsplit(settings.SITE_URL)
    if parts.scheme != "https":
        yield wrong(
            "Address",
            f"Links in mails begin with {settings.SITE_URL}.",
            "Set SITE_URL to the address with https://.",
        )
    elif parts.hostname not in settings.ALLOWED_HOSTS:
        yield odd(
            "Address",
            f"Links in mails lead to {parts.hostname}, which ALLOWED_HOSTS does not name.",
            "Add it to ALLOWED_HOSTS, or set SITE_URL.",
        )
    else:
        yield fine("Address", settings.SITE_URL)


def salons() -> Iterator[Finding]:
    """Look at what each salon's clients and papers need."""
    found = list(Salon.objects.order_by("pk"))
    if not found:
        yield wrong(
            "Salon",
            "There is no salon yet.",
            "Run `manage.py found_salon --name … --time-zone … --owner … --owner-name …`.",
        )
    for salon in found:
        try:
            yield from list(_of_salon(salon))
        except Exception as error:  # the other salons are looked at all the same
            yield wrong(
                "Salon",
                f"The salon with number {salon.pk} cannot be read: {type(error).__name__}.",
                "Restore a backup, or report this with the log.",
            )


def _of_salon(salon: Salon) -> Iterator[Finding]:
    for what, is_missing, remedy in (
        (
            "a phone number: slips of skin tests say “call us” without one",
            not salon.phone,
            "",
        ),
        ("an address for its papers", not salon.address, ""),
        ("its own time zone: its day is counted in UTC", salon.time_zone == "UTC", ""),
        (
            "an owner with an e-mail address: no anchor of the sign-offs is sent",
            not _owners(salon).exclude(email="").exists(),
            "Open Salon, Team, and add one.",
        ),
    ):
        if is_missing:
            yield odd(
                "Salon",
                f"{salon.name} has not named {what}.",
                remedy or "Sign in as an owner; open Salon, “Change the details”.",
            )
    if not _owners(salon).exists():
        yield wrong(
            "Salon",
            f"{salon.name} has no owner who may sign in.",
            "Restore a backup, or ask whoever runs the database to set is_active again.",
        )


def _owners(salon: Salon) -> QuerySet[Staff]:
    return Staff.objects.filter(salon=salon, role=Role.OWNER, is_active=True)


def worker() -> Iterator[Finding]:
    """Look when the worker was last seen, and how long work waits."""
    queue = status.queue()
    remedy = "Start `manage.py worker`, and let the machine start it again when it ends."
    if queue.seen_at is None:
        yield wrong(
            "Worker", "No worker was ever seen: no reminder leaves, no backup is made.", remedy
        )
    elif not queue.is_alive:
        yield wrong(
            "Worker", f"No worker was seen since {queue.seen_at:%Y-%m-%d %H:%M} UTC.", remedy
        )
    else:
        yield fine("Worker", f"It works; {queue.waiting} tasks wait.")
    if queue.failed:
        yield odd(
            "Worker",
            f"{queue.failed} tasks failed within seven days.",
            "Sign in as an owner; open Salon, “Mail and background work”, and read the log.",
        )
