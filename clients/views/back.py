"""Where an act on an appointment leads back to: the list that it was done from."""

import re

from django.urls import reverse

from salon.access import SalonRequest

_PLACES = re.compile(r"(away|closed|leaving)-(\d{1,18})")


def back_to(request: SalonRequest) -> str:
    """Return the address of the list that a form names in `back`, or nothing."""
    address = request.POST.get("back", "")
    if address == "calls":
        return reverse("clients:calls")
    found = _PLACES.fullmatch(address)
    if found is None:
        return ""
    return reverse(f"clients:{found.group(1)}", args=[int(found.group(2))])
