"""The front desk's table of contents."""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from clients.views import diary, gatekeeping, patch_tests, register


class DayConverter(StringConverter):
    """A date in ISO 8601, such as 2026-11-25; checked by the view."""

    regex = r"\d{4}-\d{2}-\d{2}"


register_converter(DayConverter, "day")

app_name = "clients"
urlpatterns = [
    path("day/", diary.day, name="day"),
    path("day/<day:day>/", diary.day, name="day_of"),
    path("appointments/new/", diary.book, name="book"),
    path("appointments/<int:pk>/", diary.appointment, name="appointment"),
    path("appointments/<int:pk>/move/", diary.move, name="move"),
    path("appointments/<int:pk>/cancel/", diary.cancel, name="cancel"),
    path("appointments/<int:pk>/check-in/", gatekeeping.check_in, name="check_in"),
    path("appointments/<int:pk>/override/", gatekeeping.override, name="override"),
    path("clients/", register.find, name="find"),
    path("clients/new/", register.new, name="new"),
    path("clients/<int:pk>/", register.detail, name="detail"),
    path("clients/<int:pk>/edit/", register.edit, name="edit"),
    path("clients/<int:pk>/alerts/", register.add_alert, name="add_alert"),
    path("clients/<int:pk>/patch-tests/place/", patch_tests.place, name="place_patch_test"),
    path("patch-tests/", patch_tests.worklist, name="patch_worklist"),
    path("patch-tests/<int:pk>/read/", patch_tests.read, name="read_patch_test"),
    path("patch-tests/<int:pk>/slip/", patch_tests.slip, name="patch_slip"),
]
