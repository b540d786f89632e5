"""Text in, Python values out; nothing here saves."""

from consult.forms.agreement import ChoiceForm, LeaveForm, SignForm
from consult.forms.bench import (
    CheckForm,
    CloseForm,
    LeftoverForm,
    RinseReasonForm,
    StopForm,
    SwapForm,
)
from consult.forms.bowl import BowlForm
from consult.forms.cards import MailAnswerForm
from consult.forms.formula import FormulaForm, part_name, parts_from_text, rinse_name
from consult.forms.hair import FactsForm, HairForm, ZoneForm
from consult.forms.network import DraftForm, DropForm, HereForm
from consult.forms.preparation import PreTestForm, StepForm
from consult.forms.reaction import ReactionForm
from consult.forms.record_moves import CopyForm, ReceiveForm, SecondPersonForm
from consult.forms.result import ResultForm
from consult.forms.safety import SafetyForm
from consult.forms.wording import WordingForm

__all__ = [
    "BowlForm",
    "CheckForm",
    "ChoiceForm",
    "CloseForm",
    "CopyForm",
    "DraftForm",
    "DropForm",
    "FactsForm",
    "FormulaForm",
    "HairForm",
    "HereForm",
    "LeaveForm",
    "LeftoverForm",
    "MailAnswerForm",
    "PreTestForm",
    "ReactionForm",
    "ReceiveForm",
    "ResultForm",
    "RinseReasonForm",
    "SafetyForm",
    "SecondPersonForm",
    "SignForm",
    "StepForm",
    "StopForm",
    "SwapForm",
    "WordingForm",
    "ZoneForm",
    "part_name",
    "parts_from_text",
    "rinse_name",
]
