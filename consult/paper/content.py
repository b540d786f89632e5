"""What the printed pages of a visit say."""

import json

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from clients.models import Answer, PatchTest
from clients.skin_test.safety import QUESTIONS
from consult import selectors
from consult.agreement import anchors, evidence, strokes
from consult.hair import banding
from consult.history import histories
from consult.models import Place, SignOff, Visit
from consult.paper.pdf import Paper
from salon.drawing.qr import qr_svg
from salon.selectors import policy_in_force

CARD = Paper("cards/visit.html", sides=2)
SMALL_CARD = Paper("cards/visit_small.html", "a6", 2, crowded="smaller")
BENCH_CARD = Paper("cards/bench.html", sides=2)
SMALL_BENCH_CARD = Paper("cards/bench.html", "a6", flows=True)
SIGN_OFF = Paper("cards/sign_off.html", sides=2, crowded="smaller")
SMALL_SIGN_OFF = Paper("cards/sign_off.html", "a6", flows=True)
SLIP = Paper("cards/patch_slip.html", "a6")


def visit_card(visit: Visit) -> dict[str, object]:
    """Return what the visit card shows."""
    record = histories.record_of(visit)
    readings = list(selectors.readings_in_force(visit).values())
    return {
        "visit": visit,
        "salon": visit.salon,
        "banding": banding.advice(readings),
        "record": record,
        "is_crowded": len(record.groups) > 1,
        "readings": readings,
        "facts": selectors.facts_in_force(visit),
        "tests": selectors.pre_tests_of(visit),
        "signed": record.signed,
        "is_invented": visit.line.is_starting_point or any(map(_was_invented, record.signed)),
        "override": getattr(visit.appointment, "patch_override", None),
    }


def _was_invented(signed: SignOff) -> bool:
    """Return whether the line's shades were invented when it was signed for."""
    return bool(json.loads(signed.snapshot).get("line", {}).get("invented"))


def bench_card(visit: Visit, *, address: str) -> dict[str, object]:
    """Return what the bench card shows: all that is needed to repeat, and the way back."""
    return {**visit_card(visit), "qr": visit_code(address), "address": address}


def language_of(signed: SignOff) -> str:
    """Return the language in which a sign-off was read; early ones do not say it."""
    return str(json.loads(signed.snapshot).get("wording_language", ""))


def patch_slip(test: PatchTest) -> dict[str, object]:
    """Return what the client takes home from a patch test."""
    return {
        "test": test,
        "salon": test.client.salon,
        "is_invented": test.line.is_starting_point,
        "readable_at": policy_in_force(salon=test.client.salon).readable_at(test.applied_at),
    }


def sign_off_sheet(signed: SignOff) -> dict[str, object]:
    """Return what was signed, read from the frozen snapshot, and where it is in the chain."""
    frozen = json.loads(signed.snapshot)
    newest = evidence.newest(signed.salon) or signed
    box, path = strokes.svg_path(signed.strokes) if signed.strokes else ("", "")
    for place in frozen["places"]:
        place["label"] = str(Place(place["place"]).label)
    questions = {question.key: str(question.text) for question in QUESTIONS}
    answered = dict(Answer.choices)
    return {
        "signed": signed,
        "frozen": frozen,
        "is_crowded": len(frozen["places"]) > 1,
        # Early sign-offs do not say it.
        "is_invented": frozen["line"].get("invented", signed.visit.line.is_starting_point),
        "answers": [
            {
                "question": questions.get(row["question"], row["question"]),
                "answer": answered.get(row["answer"], row["answer"]),
            }
            for row in frozen["answers"]
        ],
        "wording": _wording(frozen),
        "stroke_box": box,
        "stroke_path": path,
        "fingerprint": anchors.fingerprint(signed.digest),
        "newest": newest,
        "newest_fingerprint": anchors.fingerprint(newest.digest),
    }


def _wording(frozen: dict[str, object]) -> str:
    """Return which wording was signed: its number and, where it is known, its language."""
    language = frozen.get("wording_language")
    return str(frozen["wording_version"]) + (f" ({language})" if language else "")


def visit_code(address: str) -> SafeString:
    """Return the address of a visit as a QR code."""
    return qr_svg(address, title=_("QR code to the visit"))
