"""Every write of the formulary."""

from formulas.services.chart import ChartRefused, replace_chart_entry, restore_chart_entry
from formulas.services.demo import load_demo_line
from formulas.services.lines import (
    StaleLine,
    add_line,
    answer_invented,
    change_composition,
    change_line,
)
from formulas.services.mixing import revise_mixing_rules
from formulas.services.practice import revise_practice
from formulas.services.shades import (
    ShadeRefused,
    add_listed_shades,
    add_shade,
    change_shade,
)
from formulas.services.starter import add_starter_line
from formulas.services.stock import (
    StockRefused,
    count_shelf,
    count_stock,
    discard_stock,
    draw_stock,
    receive_delivery,
    receive_stock,
)
from formulas.services.strengths import (
    StrengthsRefused,
    accept_strengths,
    take_strengths_back,
)

__all__ = [
    "ChartRefused",
    "ShadeRefused",
    "StaleLine",
    "StockRefused",
    "StrengthsRefused",
    "accept_strengths",
    "add_line",
    "add_listed_shades",
    "add_shade",
    "add_starter_line",
    "answer_invented",
    "change_composition",
    "change_line",
    "change_shade",
    "count_shelf",
    "count_stock",
    "discard_stock",
    "draw_stock",
    "load_demo_line",
    "receive_delivery",
    "receive_stock",
    "replace_chart_entry",
    "restore_chart_entry",
    "revise_mixing_rules",
    "revise_practice",
    "take_strengths_back",
]
