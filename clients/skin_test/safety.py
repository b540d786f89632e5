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
        _("Does the scalp have a rash or a wound today, or is it sore, irritated or damaged?"),
        Effect.FORBIDS,
        _("Do not colour. Wait until the skin has healed; suggest a doctor or pharmacist."),
    ),
    Question(
        "infection",
        _("Anything contagious on the scalp or hair, such as head lice or ringworm?"),
        Effect.FORBIDS,
        _("Stop here. Suggest a pharmacist or doctor, and clean every tool you used."),
    ),
    Question(
        "reaction_ever",
        _("Ever had a reaction to hair colour: itching, rash, swelling, trouble breathing?"),
        Effect.FORBIDS,
        _("Do not colour. Suggest that a doctor tests for an allergy to hair dye first."),
    ),
    Question(
        "reaction_since",
        _("Any reaction to hair colour, here or elsewhere, since your last visit?"),
        Effect.VOIDS,
        _("The earlier patch test no longer counts. Place a new one, after medical advice."),
        short=_("reaction to hair colour"),
    ),
    Question(
        "black_henna",
        _("Had a temporary black-henna tattoo since the last patch test?"),
        Effect.VOIDS,
        _("Black henna can sensitise to hair dye. The earlier patch test no longer counts."),
        short=_("black-henna tattoo"),
    ),
    Question(
        "black_henna_reaction",
        _("Ever reacted to a temporary black-henna tattoo?"),
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
        _("Look at the skin. Do not colour where it is broken or sore; suggest a doctor."),
    ),
    Question(
        "asthma",
        _("Asthma, or trouble breathing near lightening powder or henna?"),
        Effect.ADVISES,
        _(
            "Lightening powder and henna can trigger asthma. Use dust-free powder "
            "and fresh air."
        ),
    ),
    Question(
        "medication",
        _("New medicine, or treatment that affects skin or hair?"),
        Effect.ADVISES,
        _("Results may differ. If in doubt ask a doctor or pharmacist, and do a strand test."),
    ),
    Question(
        "breakage",
        _("Is the hair breaking, or has a lot of it fallen out lately?"),
        Effect.ADVISES,
        _(
            "Do an elasticity test first. Do not colour weak hair; suggest a doctor "
            "for hair loss."
        ),
    ),
    Question(
        "metallic",
        _("Henna, metallic dyes or colour restorers on the hair in the last two years?"),
        Effect.ADVISES,
        _(
            "Do an incompatibility test first: put a cut strand in 20 parts of 6 % "
            "peroxide to 1 part of ammonium hydroxide for up to 30 minutes. If it "
            "fizzes, heats up or changes colour, do not colour."
        ),
    ),
    Question(
        "pregnancy",
        pgettext_lazy(
            "safety question", "Pregnant or breast-feeding? You do not have to answer."
        ),
        Effect.ADVISES,
        _("No reason to refuse. Many prefer to keep colour off the scalp; offer that."),
        may_be_skipped=True,
    ),
)

BY_KEY = {question.key: question for question in QUESTIONS}
VOIDING = frozenset(q.key for q in QUESTIONS if q.effect is Effect.VOIDS)
FORBIDDING = frozenset(q.key for q in QUESTIONS if q.effect is Effect.FORBIDS)
