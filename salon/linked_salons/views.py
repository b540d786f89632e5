"""The page of somebody's other salons: link, go over, undo."""

from django.contrib import messages
from django.contrib.auth import authenticate
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from salon import selectors
from salon import services as house
from salon.access import OWNER, SalonRequest, allow
from salon.linked_salons import links, services
from salon.linked_salons.forms import LinkForm
from salon.models import Staff
from salon.second_factor.backend import is_code
from salon.tablet import proof, sitting
from salon.tablet.cookie import device_of


@allow(OWNER)
@require_http_methods(["GET", "POST"])
@sensitive_post_parameters("own", "password", "code")
def linked_salons(request: SalonRequest) -> HttpResponse:
    """Show one's other salons; link one more by proving both accounts."""
    form = LinkForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        other = _proven(request, form)
        if other is not None:
            try:
                services.link_accounts(other_id=other.pk, by=request.user, at=timezone.now())
                sitting.note(request, has_links=True)
                messages.success(request, _("The two accounts are linked."))
                return redirect("salon:linked_salons")
            except services.LinkRefused as refusal:
                form.add_error("username", str(refusal))
    held = sitting.read(request)
    context = {
        "form": form,
        "links": links.links_of(request.user),
        "can_change": held is not None and sitting.may_change_salon(held, request.user),
    }
    status = 422 if form.errors else 200
    return render(request, "salon/linked_salons.html", context, status=status)


@allow(OWNER)
@require_POST
def change_salon(request: SalonRequest, pk: int) -> HttpResponse:
    """Go over into the account of another salon: another session, nothing of this one."""
    now, held = timezone.now(), sitting.read(request)
    if held is None or not sitting.may_change_salon(held, request.user):
        messages.warning(request, _("Sign in with your password here first."))
        return redirect("salon:linked_salons")
    try:
        other = services.go_to_salon(pk=pk, by=request.user, at=now)
    except services.LinkRefused as refusal:
        messages.warning(request, str(refusal))
        return redirect("salon:linked_salons")
    sitting.go_over(request, other, device=device_of(request, other.salon), at=now)
    return redirect("salon:home")


@allow(OWNER)
@require_POST
def unlink(request: SalonRequest, pk: int) -> HttpResponse:
    """Undo a link."""
    services.unlink_accounts(pk=pk, by=request.user, at=timezone.now())
    sitting.note(request, has_links=bool(links.links_of(request.user)))
    messages.success(request, _("The link is removed."))
    return redirect("salon:linked_salons")


def _proven(request: SalonRequest, form: LinkForm) -> Staff | None:
    """Return the account there, once both are proven; guessing is throttled as signing in is.

    What is wrong there is said in the same words, whether the name exists or not.
    """
    given = form.cleaned_data
    if not proof.is_password(request, request.user, given["own"]):
        form.add_error("own", _("This is not the password of the person signed in."))
        return None
    found = authenticate(request, username=given["username"], password=given["password"])
    if not isinstance(found, Staff) or (
        selectors.has_second_factor(staff=found) and not is_code(request, found, given["code"])
    ):
        house.record_refusal(username=given["username"], at=timezone.now())
        form.add_error("password", _("User name, password or code there are not right."))
        return None
    return found
