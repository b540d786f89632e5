"""Which tables hold something about a client, and how each leads to them.

A test asks of every table with a way to a client whether it is here or left out on purpose.
"""

from typing import NamedTuple


class Table(NamedTuple):
    """A table by its model's label, and the path from its rows to the client."""

    label: str
    path: str

    @property
    def name(self) -> str:
        """What the file calls it."""
        return self.label.split(".")[1].lower()


_VISIT = "visit__client"
TABLES = (
    Table("clients.Client", "pk"),
    Table("clients.Consent", "client"),
    Table("clients.ClientAlert", "client"),
    Table("clients.SafetyAnswer", "client"),
    Table("clients.PatchTest", "client"),
    Table("clients.PatchTestReading", "test__client"),
    Table("clients.HairHistoryEntry", "client"),
    Table("clients.Restriction", "client"),
    Table("clients.Erasure", "client"),
    Table("clients.BirthDateChange", "client"),
    Table("clients.Appointment", "client"),
    Table("clients.AppointmentEvent", "appointment__client"),
    Table("clients.PatchOverride", "appointment__client"),
    Table("clients.WaitingEntry", "client"),
    Table("clients.ClientCall", "client"),
    Table("clients.Reminder", "client"),
    Table("clients.ValueToCorrect", "client"),
    Table("clients.Photo", "client"),
    Table("clients.PhotoRemoval", "photo__client"),
    Table("clients.RecordMove", "client"),
    Table("clients.ReceivedRecord", "client"),
    Table("clients.RecordAccess", "client"),
    Table("consult.Visit", "client"),
    Table("consult.ZoneReading", _VISIT),
    Table("consult.HairFacts", _VISIT),
    Table("consult.PreTest", _VISIT),
    Table("consult.VisitStep", _VISIT),
    Table("consult.Choice", _VISIT),
    Table("consult.ChosenPlace", "choice__visit__client"),
    Table("consult.SignOff", _VISIT),
    Table("consult.Formula", _VISIT),
    Table("consult.FormulaLine", "formula__visit__client"),
    Table("consult.BowlMixed", _VISIT),
    Table("consult.BowlLine", "bowl__visit__client"),
    Table("consult.BowlLeftover", "bowl__visit__client"),
    Table("consult.ProcessingMark", "bowl__visit__client"),
    Table("consult.ProcessingCheck", "bowl__visit__client"),
    Table("consult.RinseReason", "mark__bowl__visit__client"),
    Table("consult.RinseUndone", "mark__bowl__visit__client"),
    Table("consult.ResultSeen", _VISIT),
    Table("consult.Reaction", _VISIT),
    Table("consult.CardPrinted", _VISIT),
    Table("consult.CardMail", _VISIT),
)
LEFT_OUT = {
    "clients.ClientKey": "closes their words in the database; means nothing outside of it",
    "clients.ClientMerge": "names another entry; both entries are in the file",
    "clients.PossibleDuplicate": "names another person",
    "clients.NotTheSame": "names another person",
    "clients.SearchKey": "made from the name, to find it by",
    "clients.SlotClaim": "the diary's own view of an appointment",
    "consult.Draft": "a colleague's typing, gone after a day",
    "consult.Presence": "who sat at a page",
    "consult.VisitFigures": "sums of what the other tables hold",
    "consult.VisitEvent": "the order of changes; what was changed is in the other tables",
}
# Of no meaning outside of this database, or somebody else's.
OMITTED_FIELDS = frozenset(
    {"salon", "version", "search_name", "household", "brought_by", "content_salt"}
)
# A colleague's look is given by its kind and time; the person is theirs to keep.
OMITTED_OF = {
    "clients.RecordAccess": frozenset({"staff", "target", "target_id"}),
    "clients.RecordMove": frozenset(
        {"received", "entries"}
    ),  # rows of the other salon, numbers
    "clients.ReceivedRecord": frozenset({"alerts", "hair_history"}),  # numbers of rows
}
# What another salon gets when the client moves there: what was done to the hair and the skin.
# The rest stays, for it is the salon's own work or evidence.
STAYS = {
    "clients.Consent": "what was agreed here; the other salon asks for its own",
    "clients.Restriction": "a shut record is not given",
    "clients.Erasure": "an erased one is not given",
    "clients.BirthDateChange": "who changed an entry here",
    "clients.Appointment": "this salon's diary",
    "clients.AppointmentEvent": "this salon's diary",
    "clients.PatchOverride": "an owner's word here",
    "clients.WaitingEntry": "this salon's diary",
    "clients.ClientCall": "this salon's diary",
    "clients.Reminder": "what this salon sent",
    "clients.ValueToCorrect": "of a list that was imported here",
    "clients.Photo": "the files go by a consent of their own",
    "clients.PhotoRemoval": "of photos that are gone",
    "clients.RecordMove": "between other salons",
    "clients.RecordAccess": "who looked here",
    "consult.Choice": "in what was promised of each visit",
    "consult.ChosenPlace": "in what was promised of each visit",
    "consult.SignOff": "evidence of this salon",
    "consult.BowlLeftover": "this salon's stock",
    "consult.RinseReason": "this salon's work",
    "consult.RinseUndone": "this salon's work",
    "consult.CardPrinted": "a paper of this salon",
    "consult.CardMail": "what this salon sent",
}
