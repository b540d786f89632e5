"""The safety questions: one set, asked by the desk and by the consultation.

Sources: the warnings that Regulation (EC) 1223/2009, Annex III prints on hair dyes
(severe reactions, black-henna tattoos, irritated scalp, earlier reactions), put as plain
questions; what UK NOS SKAHDBRBNS1 and SKAHDBR7 and Australia's SHBHCLS units ask of a
consultation; and HSE's word on asthma from persulphates and henna. Follow the
manufacturer's instructions and local rules where they say more.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

if TYPE_CHECKING:
    from django_stubs_ext import StrPromise
else:
    StrPromise = Any


class Effect(StrEnum):
    """What a "yes" does."""

    FORBIDS = "forbids"  # no colour today
    VOIDS = "voids"  # a patch test placed before this answer no longer counts
    ADVISES = "advises"  # advice, never a block


@dataclass(frozen=True)
class Question:
    """One question with what follows from a "yes"."""

    key: str
    text: StrPromise
    effect: Effect
    advice: StrPromise
    may_be_skipped: bool = False
    short: StrPromise | str = ""  # of what makes a test void: the thing in a few words


QUESTIONS: tuple[Question, ...] = (
    Question(
        "scalp",
        _("Is there a rash, a wound, or a sensitive, irritated or damaged scalp today?"),
        Effect.FORBIDS,
        _("Do not colour. Wait until the skin has healed; suggest a doctor or pharmacist."),
    ),
    Question(
        "infection",
        _("Anything catching on scalp or hair, such as head lice or ringworm?"),
        Effect.FORBIDS,
        _("Do not go on. Suggest a pharmacist or doctor, and clean every tool that was used."),
    ),
    Question(
        "reaction_ever",
        _("Ever a reaction to hair colour: itching, rash, swelling, trouble breathing?"),
        Effect.FORBIDS,
        _("Do not colour. Suggest that a doctor tests for an allergy to hair dye first."),
    ),
    Question(
        "reaction_since",
        _("Any reaction to hair colour, here or elsewhere, since the last visit?"),
        Effect.VOIDS,
        _("The earlier patch test no longer counts. Place a new one, after medical advice."),
        short=_("reaction to hair colour"),
    ),
    Question(
        "black_henna",
        _("A temporary black-henna tattoo since the last patch test?"),
        Effect.VOIDS,
        _("Black henna can sensitise to hair dye. The earlier patch test no longer counts."),
        short=_("black-henna tattoo"),
    ),
    Question(
        "black_henna_reaction",
        _("Ever a reaction to a temporary black-henna tattoo?"),
        Effect.FORBIDS,
        _("Do not colour. Suggest that a doctor tests for an allergy to hair dye first."),
    ),
    Question(
        "new_allergy",
        _("Any new allergy since the last patch test?"),
        Effect.VOIDS,
        _("The earlier patch test no longer counts. Place a new one."),
        short=_("new allergy"),
    ),
    Question(
        "skin",
        _("A skin condition on the scalp, face or neck, such as eczema or psoriasis?"),
        Effect.ADVISES,
        _("Look at the skin. Where it is broken or sore, do not colour; suggest a doctor."),
    ),
    Question(
        "asthma",
        _("Asthma, or trouble breathing near lightening powder or henna?"),
        Effect.ADVISES,
        _("Lightening powder and henna can bring on asthma. Use dust-free powder, fresh air."),
    ),
    Question(
        "medication",
        _("New medicine, or treatment that affects skin or hair?"),
        Effect.ADVISES,
        _("Results may differ. Ask a doctor or pharmacist where in doubt; do a strand test."),
    ),
    Question(
        "breakage",
        _("Hair breaking off, or much hair lost lately?"),
        Effect.ADVISES,
        _("Do an elasticity test first. Weak hair is not coloured; suggest a doctor for loss."),
    ),
    Question(
        "metallic",
        _("Henna, metallic dyes or colour restorers on the hair in the last two years?"),
        Effect.ADVISES,
        _(
            "Do an incompatibility test first: a cut strand in 20 parts 6 % peroxide to 1 part "
            "ammonium hydroxide, up to 30 minutes. Fizz, heat or a colour change: "
            "do not colour."
        ),
    ),
    Question(
        "pregnancy",
        pgettext_lazy("safety question", "Pregnant or breast-feeding? You need not say."),
        Effect.ADVISES,
        _("No reason to refuse. Many prefer to keep colour off the scalp; offer it."),
        may_be_skipped=True,
    ),
)

BY_KEY = {question.key: question for question in QUESTIONS}
VOIDING = frozenset(q.key for q in QUESTIONS if q.effect is Effect.VOIDS)
FORBIDDING = frozenset(q.key for q in QUESTIONS if q.effect is Effect.FORBIDS)
