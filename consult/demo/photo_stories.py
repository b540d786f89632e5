"""Photos of the demo salon: hair drawn stroke by stroke, no person, in the predicted colours."""

import io
import math
from random import Random

from PIL import Image, ImageDraw, ImageFilter

from clients import services as desk
from clients.models import ConsentKind, Moment, Part
from clients.people.consent_texts import CONSENT_WORDS
from clients.photos import pictures
from consult.demo.house import House
from consult.history import histories
from consult.models import Visit
from salon.drawing.colour import hex_to_lab, shifted

_WIDTH, _HEIGHT, _HAIRS = 540, 720, 420
# Who agreed to photos, and of how many of the latest visits there are some.
_AGREED = (("Maeve O’Sullivan-Hartigan", 2), ("Ελένη Παπαδοπούλου", 1))
_WITHDREW = "Ngozi Adeyemi"


def build(built: House) -> None:
    """Take photos of a few visits; one client has changed her mind since."""
    for name, count in (*_AGREED, (_WITHDREW, 1)):
        client = built.clients[name]
        visits = list(Visit.objects.closed().of_person(client)[:count])
        if not visits:
            continue
        _agree(built, name, visits[-1], is_given=True)
        for visit in visits:
            _photograph(visit)
    if any(built.clients[_WITHDREW].photos.all()):
        _agree(built, _WITHDREW, None, is_given=False)


def _agree(built: House, name: str, visit: Visit | None, *, is_given: bool) -> None:
    desk.record_consent(
        client=built.clients[name],
        kind=ConsentKind.PHOTOS,
        wording=str(CONSENT_WORDS[ConsentKind.PHOTOS]),
        is_given=is_given,
        by=visit.stylist if visit else built.desk,
        at=visit.opened_at if visit else built.now,
    )


def _photograph(visit: Visit) -> None:
    closed = visit.closed_at or visit.opened_at
    group = histories.record_of(visit).groups[0]
    shots = (
        (Moment.BEFORE, Part.WHOLE, group.place.shown["start"]["hex"], visit.opened_at),
        (Moment.AFTER, Part.WHOLE, group.predicted["dry_hex"], closed),
        (Moment.AFTER, Part.ENDS, group.predicted["dry_hex"], closed),
    )
    for number, (moment, part, colour, at) in enumerate(shots):
        drawn = io.BytesIO()
        _hair(colour, seed=10 * visit.pk + number, close=part != Part.WHOLE).save(
            drawn, "JPEG", quality=95
        )
        desk.take_photo(
            appointment=visit.appointment,
            picture=pictures.read(drawn, size=drawn.tell()),
            moment=moment,
            part=part,
            by=visit.stylist,
            at=at,
        )


def _hair(colour: str, *, seed: int, close: bool) -> Image.Image:
    """Return hair of a colour before a grey wall, as a tablet would take it from behind."""
    dice = Random(seed)  # noqa: S311  a drawing, no secret
    lab = hex_to_lab(colour)
    image = Image.new("RGB", (_WIDTH, _HEIGHT), "#a6a6a6")
    draw = ImageDraw.Draw(image)
    reach = 0.7 if close else 0.3
    for _ in range(_HAIRS):
        across = dice.triangular(-1, 1, 0)
        light = 13 * math.exp(-((across + 0.25) ** 2) / 0.12) - 13 + dice.gauss(2, 6)
        wave, phase = dice.uniform(6, 20), dice.uniform(0, 1.2)
        length = _HEIGHT * (1.05 if close else dice.uniform(0.7, 0.84) - 0.1 * across**2)
        points = []
        for step in range(25):
            t = step / 24
            spread = reach * (0.55 + 0.45 * math.sin(math.pi * min(1.0, 0.2 + t * 0.7)))
            x = _WIDTH * (0.5 + across * spread) + wave * math.sin(4.2 * t + phase) * t
            points.append((x, (-20 if close else 60 + 120 * across**2) + t * length))
        draw.line(points, fill=shifted(lab, light), width=dice.choice((3, 4, 6)))
    return image.filter(ImageFilter.GaussianBlur(0.8))
