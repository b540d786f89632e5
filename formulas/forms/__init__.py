"""Text in, Python values out; nothing is saved here."""

from formulas.forms.chart import ChartEntryForm
from formulas.forms.explanation import ExplanationForm
from formulas.forms.lines import (
    CompositionForm,
    InventedForm,
    LineForm,
    NewLineForm,
    StarterForm,
)
from formulas.forms.mixing import MixingRulesForm
from formulas.forms.practice import PracticeForm
from formulas.forms.screen_check import ScreenCheckForm
from formulas.forms.shade_list import ColumnsForm, ShadeListForm
from formulas.forms.shades import ShadeForm
from formulas.forms.shelf_sheets import CountSheetForm, DeliveryForm
from formulas.forms.stock import CountForm, DiscardForm, ReceiveForm, ReceiveShadeForm

__all__ = [
    "ChartEntryForm",
    "ColumnsForm",
    "CompositionForm",
    "CountForm",
    "CountSheetForm",
    "DeliveryForm",
    "DiscardForm",
    "ExplanationForm",
    "InventedForm",
    "LineForm",
    "MixingRulesForm",
    "NewLineForm",
    "PracticeForm",
    "ReceiveForm",
    "ReceiveShadeForm",
    "ScreenCheckForm",
    "ShadeForm",
    "ShadeListForm",
    "StarterForm",
]
