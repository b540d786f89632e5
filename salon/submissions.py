"""One form, one write: a double click or a resent form gets the first answer again."""

import uuid
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone

from salon.models import Staff, Submission

FIELD = "once"


def once(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
    """Run a POST view in a transaction that claims the form's key first.

    The key comes from the hidden field that `{% once %}` draws. A second request with the
    same key waits for the first (the key is unique), then is redirected to the first one's
    answer. A response that is no redirect (an invalid form) gives the key back.
    """

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        key = _key(request)
        if request.method != "POST" or key is None or not request.user.is_authenticated:
            return view(request, *args, **kwargs)
        try:
            with transaction.atomic():
                submission = Submission.objects.create(
                    key=key, staff=request.user, path=request.path, at=timezone.now()
                )
                response = view(request, *args, **kwargs)
                answer = _answer(response)
                if answer:
                    submission.answer = answer
                    submission.save(update_fields=["answer"])
                else:
                    submission.delete()
                return response
        except IntegrityError:
            first = Submission.objects.filter(
                key=key, staff=request.user, path=request.path
            ).first()
            if first is None:  # some other constraint: not ours to swallow
                raise
            if request.headers.get("HX-Request"):
                return HttpResponse(status=204, headers={"HX-Redirect": first.answer})
            return redirect(first.answer)

    return guarded


def was_sent(key: str, *, by: Staff) -> bool:
    """Return whether a form with this key has arrived and been answered."""
    try:
        return Submission.objects.filter(key=uuid.UUID(key), staff=by).exists()
    except ValueError:
        return False


def _key(request: HttpRequest) -> uuid.UUID | None:
    try:
        return uuid.UUID(request.POST.get(FIELD, ""))
    except ValueError:
        return None


def _answer(response: HttpResponseBase) -> str:
    return response.headers.get("HX-Redirect") or response.headers.get("Location") or ""
