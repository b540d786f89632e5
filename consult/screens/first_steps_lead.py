"""Leads an owner back to the first steps after each save that finishes one of them.

The page of the first steps notes in the session which are open; a form that finishes one of
those leads there again, where the next step waits, instead of to its own list.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse

from consult.screens import first_steps
from salon.models import Staff

OPEN = "first_steps_open"
# Which steps the forms of a route may finish.
ROUTES = {
    "salon:details": {"salon"},
    "clients:set_week": {"hours"},
    "salon:add_member": {"staff"},
    "salon:change_member": {"staff"},
    "salon:policy": {"policy"},
    "formulas:starter_line": {"line"},
    "clients:add_service": {"service", "test_visit"},
    "clients:add_chair": {"chair"},
    "consult:wording": {"wording"},
    "salon:enrol_device": {"tablets"},
    "clients:new": {"client"},
    "clients:book": {"booking"},
}


class FirstStepsMiddleware:
    """Turn the redirect of such a save."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        match = request.resolver_match
        known = ROUTES.get(match.view_name, set()) if match else set()
        if request.method != "POST" or response.status_code != 302 or not known:
            return response
        waiting = request.session.get(OPEN, [])
        if not known & set(waiting) or not isinstance(request.user, Staff):
            return response
        steps = first_steps.steps(salon=request.user.salon)
        left = [step.key for step in steps if not step.is_done]
        if known & set(waiting) - set(left):
            request.session[OPEN] = left
            # A client who is added while booking is booked first.
            if left and not response["Location"].startswith(reverse("clients:book")):
                response["Location"] = reverse("consult:first_steps") + "#next"
        return response
