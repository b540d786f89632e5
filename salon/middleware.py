"""Bind the request to its salon: its clocks, and the language of whoever is signed in."""

from collections.abc import Callable

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils import timezone

from salon import access, languages


class SalonMiddleware:
    """Set `request.salon`, speak the language that the reader chose, show the salon's time.

    Before signing in the cookie or the browser says the language (LocaleMiddleware).
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        salon = request.user.salon if request.user.is_authenticated else None
        request.salon = salon  # type: ignore[attr-defined]
        if salon is None:
            return self.get_response(request)
        code = languages.of_reader(request)
        with timezone.override(salon.zone), languages.speaking(code) as language:
            request.LANGUAGE_CODE = language
            response = self.get_response(request)
            response.headers.setdefault("Content-Language", language)
            return response


class SignInMiddleware(LoginRequiredMiddleware):
    """Ask everybody to sign in, but for views that are open on purpose.

    The net under `salon.access.allow`: a view that forgot it is closed, not open.
    """

    def handle_no_permission(  # type: ignore[override]
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> HttpResponse:
        """Send to the sign-in page, as `allow` does."""
        return access.to_sign_in(request)


class ScriptedFormMiddleware:
    """Tell a script that sent a form where to go on, instead of leading it there.

    A script that followed a redirect itself would fetch the next page without showing it, and
    use up what that page has to say. It asks with the header `X-Scripted`.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if "X-Scripted" in request.headers and response.status_code in {301, 302, 303}:
            response.status_code = 204
            response.headers["X-Location"] = response.headers["Location"]
            del response.headers["Location"]
        return response


class OwnPageMiddleware:
    """Refuse what a page sends by script once somebody else is signed in on its device.

    The page says with the header `X-Staff` whom it was drawn for. What that person typed is
    neither saved under another's name nor thrown away: the page keeps it and says so.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        drawn_for = request.headers.get("X-Staff")
        if drawn_for and request.user.is_authenticated and drawn_for != str(request.user.pk):
            return HttpResponse(
                status=409, headers={"X-Someone-Else": "1", "HX-Reswap": "none"}
            )
        return self.get_response(request)
