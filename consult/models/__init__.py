"""The records of consultation and bench."""

from consult.models.bowl import (
    BowlLine,
    BowlMixed,
    MarkKind,
    ProcessingCheck,
    ProcessingMark,
    Seen,
)
from consult.models.card import CardKind, CardPrinted
from consult.models.choice import Choice, ChosenPlace, Place
from consult.models.draft import Draft, Presence
from consult.models.formula import Formula, FormulaLine, Source
from consult.models.hair import HALF_LEVELS, Density, HairFacts, Length, Texture, ZoneReading
from consult.models.result import ClientWord, Evenness, ResultSeen
from consult.models.sign_off import Method, SignOff
from consult.models.visit import ENDED, Status, Visit, VisitEvent

__all__ = [
    "ENDED",
    "HALF_LEVELS",
    "BowlLine",
    "BowlMixed",
    "CardKind",
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
    "MarkKind",
    "Method",
    "Place",
    "Presence",
    "ProcessingCheck",
    "ProcessingMark",
    "ResultSeen",
    "Seen",
    "SignOff",
    "Source",
    "Status",
    "Texture",
    "Visit",
    "VisitEvent",
    "ZoneReading",
]
