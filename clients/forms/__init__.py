"""Text in, Python values out; nothing is saved here."""

from clients.forms.calls import CallForm, KeyedCallForm
from clients.forms.care import ConsentForm, HairHistoryForm
from clients.forms.desk_draft import DraftForm
from clients.forms.diary import (
    BookingForm,
    CancelForm,
    ChangeForm,
    MarkForm,
    MoveForm,
    OverrideForm,
    RestoreForm,
    UndoForm,
)
from clients.forms.hours import (
    AbsenceForm,
    AreaForm,
    ClosedDayForm,
    HolidaysForm,
    HolidayYearForm,
    HoursForm,
    YearlyHolidaysForm,
)
from clients.forms.importing import AlikeForm, ImportFileForm, MappingForm, ValuesForm
from clients.forms.offer import (
    ChairForm,
    NewChairForm,
    NewServiceForm,
    ServiceForm,
    WeekForm,
)
from clients.forms.patch_tests import PlaceForm, ReadingForm
from clients.forms.persons import MergeForm
from clients.forms.photos import PhotoConsentForm, PhotoForm, RemovalForm
from clients.forms.register import AlertForm, ClientForm, LiftForm
from clients.forms.reminders import DeskPolicyForm, TemplateForm
from clients.forms.safety import SafetyForm, question_field
from clients.forms.waiting import WaitingForm

__all__ = [
    "AbsenceForm",
    "AlertForm",
    "AlikeForm",
    "AreaForm",
    "BookingForm",
    "CallForm",
    "CancelForm",
    "ChairForm",
    "ChangeForm",
    "ClientForm",
    "ClosedDayForm",
    "ConsentForm",
    "DeskPolicyForm",
    "DraftForm",
    "HairHistoryForm",
    "HolidayYearForm",
    "HolidaysForm",
    "HoursForm",
    "ImportFileForm",
    "KeyedCallForm",
    "LiftForm",
    "MappingForm",
    "MarkForm",
    "MergeForm",
    "MoveForm",
    "NewChairForm",
    "NewServiceForm",
    "OverrideForm",
    "PhotoConsentForm",
    "PhotoForm",
    "PlaceForm",
    "ReadingForm",
    "RemovalForm",
    "RestoreForm",
    "SafetyForm",
    "ServiceForm",
    "TemplateForm",
    "UndoForm",
    "ValuesForm",
    "WaitingForm",
    "WeekForm",
    "YearlyHolidaysForm",
    "question_field",
]
