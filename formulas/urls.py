"""Addresses of the formulary's pages."""

from django.urls import path

from formulas.views import (
    chart,
    explanation,
    lines,
    mixing,
    practice,
    screen_check,
    shade_list,
    shades,
    starter,
    stock,
    stock_sheets,
)

app_name = "formulas"
urlpatterns = [
    path("lines/", lines.lines, name="lines"),
    path("lines/new/", lines.new, name="new_line"),
    path("lines/starter/", starter.starter_line, name="starter_line"),
    path("lines/<int:pk>/", lines.line, name="line"),
    path("lines/<int:pk>/edit/", lines.edit, name="edit_line"),
    path("lines/<int:pk>/invented/", lines.answer_invented, name="answer_invented"),
    path("lines/<int:pk>/composition/", lines.composition, name="composition"),
    path("lines/<int:pk>/shades/new/", shades.new, name="new_shade"),
    path("lines/<int:pk>/shades/list/", shade_list.import_shades, name="import_shades"),
    path("lines/<int:pk>/shades.csv", shade_list.shades_csv, name="shades_csv"),
    path("shades/<int:pk>/edit/", shades.edit, name="edit_shade"),
    path("lines/amounts/", mixing.mixing_rules, name="mixing_rules"),
    path("lines/practice/", practice.practice, name="practice"),
    path("stock/", stock.shelf, name="stock"),
    path("stock/delivery/", stock_sheets.delivery, name="delivery"),
    path("stock/count/", stock_sheets.count_sheet, name="count_sheet"),
    path("stock/order.csv", stock.order_list, name="order_list"),
    path("stock/<int:pk>/", stock.shade, name="shade_stock"),
    path("stock/<int:pk>/count/", stock.count, name="count_stock"),
    path("stock/<int:pk>/discard/", stock.discard, name="discard_stock"),
    path("chart/", chart.chart, name="chart"),
    path("chart/replace/", chart.replace, name="replace_chart_entry"),
    path("chart/restore/", chart.restore, name="restore_chart_entry"),
    path("screen/", screen_check.screen_check, name="screen_check"),
    path("explanation/", explanation.explanation, name="explanation"),
]
