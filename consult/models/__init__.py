"""The records of consultation and bench."""

from consult.models.anchor import Anchor
from consult.models.bowl import (
    BowlLine,
    BowlMixed,
    MarkKind,
    ProcessingCheck,
    ProcessingMark,
    Seen,
)
from consult.models.card import (
    CardKind,
    CardMail,
    CardPrinted,
    MailAnswer,
    MailState,
)
from consult.models.choice import Choice, ChosenPlace, Place
from consult.models.draft import Draft, Presence
from consult.models.figures import VisitFigures
from consult.models.formula import Formula, FormulaLine, Source
from consult.models.hair import (
    HALF_LEVELS,
    Banding,
    Density,
    HairFacts,
    Length,
    Scalp,
    Texture,
    Washes,
    ZoneReading,
)
from consult.models.leftover import BowlLeftover
from consult.models.pre_test import RESULTS, PreTest, PreTestKind, PreTestResult
from consult.models.reaction import Reaction, ReactionKind
from consult.models.result import ClientWord, Evenness, ResultSeen
from consult.models.rinse import RinseReason, RinseUndone, RinseWhy
from consult.models.sign_off import Method, SignOff
from consult.models.visit import ENDED, Status, Visit, VisitEvent
from consult.models.visit_step import StepKind, VisitStep
from consult.models.wording import FIRST_OWN_NUMBER, StatementWording

__all__ = [
    "ENDED",
    "FIRST_OWN_NUMBER",
    "HALF_LEVELS",
    "RESULTS",
    "Anchor",
    "Banding",
    "BowlLeftover",
    "BowlLine",
    "BowlMixed",
    "CardKind",
    "CardMail",
    "CardPrinted",
    "Choice",
    "ChosenPlace",
    "ClientWord",
    "Density",
    "Draft",
    "Evenness",
    "Formula",
    "FormulaLine",
    "HairFacts",
    "Length",
    "MailAnswer",
    "MailState",
    "MarkKind",
    "Method",
    "Place",
    "PreTest",
    "PreTestKind",
    "PreTestResult",
    "Presence",
    "ProcessingCheck",
    "ProcessingMark",
    "Reaction",
    "ReactionKind",
    "ResultSeen",
    "RinseReason",
    "RinseUndone",
    "RinseWhy",
    "Scalp",
    "Seen",
    "SignOff",
    "Source",
    "StatementWording",
    "Status",
    "StepKind",
    "Texture",
    "Visit",
    "VisitEvent",
    "VisitFigures",
    "VisitStep",
    "Washes",
    "ZoneReading",
]
