"""A second person beside whoever is signed in: a colleague who gives their PIN."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponseBase
from django.utils import timezone
from django.utils.translation import gettext_lazy

from salon.models import Staff
from salon.numbers import row_number
from salon.selectors import people_with_pin
from salon.tablet import services
from salon.tablet.forms import PinField
from salon.tablet.pins import LENGTH

View = Callable[..., HttpResponseBase]


def with_witness(view: View) -> View:
    """Return the view with `request.witness`: the colleague whose PIN came along, or None.

    It goes outside of `once`: inside that transaction a failed try would not stay counted.
    """

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        request.witness = _witness(request)  # type: ignore[attr-defined]
        return view(request, *args, **kwargs)

    return guarded


def _witness(request: HttpRequest) -> Staff | None:
    staff_id = row_number(request.POST.get("colleague", ""))
    pin = request.POST.get("colleague_pin", "")
    if staff_id is None or len(pin) != LENGTH or not (pin.isascii() and pin.isdigit()):
        return None
    if not request.user.is_authenticated:
        return None
    return services.confirm_by_pin(
        staff_id=staff_id, pin=pin, by=request.user, at=timezone.now()
    )


class WitnessForm(forms.Form):
    """The colleague who confirms, and their PIN; `with_witness` compares it."""

    colleague = forms.ModelChoiceField(
        label=gettext_lazy("Second person"), queryset=Staff.objects.none(), required=False
    )
    colleague_pin = PinField(label=gettext_lazy("Their PIN"), required=False)

    def __init__(self, *args: Any, by: Staff, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["colleague"].queryset = people_with_pin(salon=by.salon).exclude(pk=by.pk)
