"""A file for a page: at once where it is short, else made by the worker."""

import io
from typing import Any, TypeVar

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from salon.access import SalonRequest
from salon.files import kinds, services
from salon.files.kinds import FileRequest, Kind
from salon.files.progress import Progress

Response = TypeVar("Response", bound=HttpResponseBase)


def give(request: SalonRequest, name: str, **arguments: Any) -> HttpResponse:
    """Return a short file; queue a long one and lead to the page that shows how far it is."""
    wanted = FileRequest(request.salon, request.user, timezone.now(), arguments)
    kind = kinds.of(name)
    kind.check(wanted)
    if kind.count(wanted) > kind.most_at_once:
        services.ask_for_file(kind=name, arguments=arguments, by=wanted.by, at=wanted.at)
        messages.success(request, _("The file is being prepared. You can leave this page."))
        return redirect("salon:files")
    with transaction.atomic():
        kind.note(wanted)
    out = io.BytesIO()
    kind.write(wanted, out, Progress())
    response = HttpResponse(out.getvalue(), content_type=kind.content_type)
    return download(kind, wanted, response)


def download(
    kind: Kind, wanted: FileRequest, response: Response, *, opens: bool | None = None
) -> Response:
    """Name a response; the browser shows it where it is a page to print."""
    shown = kind.opens if opens is None else opens
    way = "inline" if shown else "attachment"
    response["Content-Disposition"] = f'{way}; filename="{kind.name(wanted)}"'
    return response
