"""The front desk's table of contents."""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from clients.views import (
    alerts,
    appointments,
    booking,
    care,
    changing,
    diary,
    feeds,
    find,
    gatekeeping,
    hours,
    importing,
    offer,
    opt_out,
    patch_tests,
    persons,
    photos,
    register,
    reminders,
    safety,
    waiting,
)


class DayConverter(StringConverter):
    """A date in ISO 8601, such as 2026-11-25; checked by the view."""

    regex = r"\d{4}-\d{2}-\d{2}"


register_converter(DayConverter, "day")

app_name = "clients"
urlpatterns = [
    path("day/", diary.day, name="day"),
    path("day/<day:day>/", diary.day, name="day_of"),
    path("week/", diary.week, name="week"),
    path("week/<day:day>/", diary.week, name="week_of"),
    path("appointments/new/", booking.book, name="book"),
    path("appointments/<int:pk>/", appointments.appointment, name="appointment"),
    path("appointments/<int:pk>/confirm/", appointments.confirm, name="confirm"),
    path("appointments/<int:pk>/move/", appointments.move, name="move"),
    path("appointments/<int:pk>/cancel/", appointments.cancel, name="cancel"),
    path("appointments/<int:pk>/change/", changing.change, name="change"),
    path("appointments/<int:pk>/restore/", changing.restore, name="restore"),
    path("appointments/<int:pk>/mark/", changing.mark, name="mark"),
    path("appointments/<int:pk>/check-in/", gatekeeping.check_in, name="check_in"),
    path(
        "appointments/<int:pk>/undo-check-in/", gatekeeping.undo_check_in, name="undo_check_in"
    ),
    path("appointments/<int:pk>/begin/", gatekeeping.begin, name="begin"),
    path("appointments/<int:pk>/finish/", gatekeeping.finish, name="finish"),
    path("appointments/<int:pk>/override/", gatekeeping.override, name="override"),
    path("appointments/<int:pk>/photos/", photos.photos, name="photos"),
    path("appointments/<int:pk>/photos/<slug:moment>/", photos.shelf, name="photo_shelf"),
    path("appointments/<int:pk>/photos/<slug:moment>/take/", photos.take, name="take_photo"),
    path(
        "appointments/<int:pk>/photos/<slug:moment>/agree/", photos.agree, name="photo_consent"
    ),
    path("photos/<uuid:key>/", photos.picture, name="photo"),
    path("photos/<uuid:key>/small/", photos.picture, {"small": True}, name="small_photo"),
    path("photos/<uuid:key>/remove/", photos.remove, name="remove_photo"),
    path("photos/withdrawn/", photos.withdrawn, name="withdrawn_photos"),
    path("clients/", find.find, name="find"),
    path("clients/new/", register.new, name="new"),
    path("clients/<int:pk>/", register.detail, name="detail"),
    path("clients/imports/", importing.imports, name="imports"),
    path("clients/imports/<int:pk>/", importing.one_import, name="import"),
    path("clients/imports/<int:pk>/go-on/", importing.go_on, name="import_go_on"),
    path("clients/imports/<int:pk>/undo/", importing.undo, name="undo_import"),
    path("clients/imports/<int:pk>/discard/", importing.discard, name="discard_import"),
    path("clients/imports/<int:pk>/refused.csv", importing.report, name="import_report"),
    path("clients/export.csv", importing.export, {"kind": "csv"}, name="export_csv"),
    path("clients/export.vcf", importing.export, {"kind": "vcf"}, name="export_vcard"),
    path("calendar/", feeds.own_feed, name="own_feed"),
    path("calendar/close/", feeds.close_feed, name="close_feed"),
    path("calendar/<str:token>.ics", feeds.feed, name="feed"),
    path("clients/duplicates/", persons.duplicates, name="duplicates"),
    path("clients/merge/", persons.merge, name="merge"),
    path("clients/merge/<int:pk>/undo/", persons.undo_merge, name="undo_merge"),
    path("clients/not-the-same/", persons.not_the_same, name="not_the_same"),
    path("clients/<int:pk>/care/", care.care, name="care"),
    path("clients/<int:pk>/consent/", care.consent, name="consent"),
    path("clients/<int:pk>/photos/", photos.history, name="photo_history"),
    path("clients/<int:pk>/photos/delete/", photos.delete_withdrawn, name="delete_photos"),
    path("clients/<int:pk>/hair-history/", care.add_history, name="add_history"),
    path("clients/<int:pk>/household/join/", care.join, name="join_household"),
    path("clients/<int:pk>/household/leave/", care.leave, name="leave_household"),
    path("hair-history/<int:pk>/withdraw/", care.withdraw_history, name="withdraw_history"),
    path("clients/<int:pk>/edit/", register.edit, name="edit"),
    path("clients/<int:pk>/alerts/", alerts.add_alert, name="add_alert"),
    path("clients/<int:pk>/safety/", safety.safety, name="safety"),
    path("alerts/<int:pk>/lift/", alerts.lift_alert, name="lift_alert"),
    path("clients/<int:pk>/patch-tests/place/", patch_tests.place, name="place_patch_test"),
    path("waiting/", waiting.waiting, name="waiting"),
    path("waiting/new/", waiting.add_waiting, name="add_waiting"),
    path("waiting/<int:pk>/withdraw/", waiting.withdraw_waiting, name="withdraw_waiting"),
    path("hours/", hours.hours, name="hours"),
    path("hours/set/", hours.set_hours, name="set_hours"),
    path("hours/week/", offer.set_week, name="set_week"),
    path("services/", offer.offer, name="offer"),
    path("services/new/", offer.add_service, name="add_service"),
    path("services/<int:pk>/", offer.change_service, name="change_service"),
    path("chairs/new/", offer.add_chair, name="add_chair"),
    path("chairs/<int:pk>/", offer.change_chair, name="change_chair"),
    path("hours/away/", hours.add_absence, name="add_absence"),
    path("hours/away/<int:pk>/remove/", hours.remove_absence, name="remove_absence"),
    path("hours/closed/", hours.close_day, name="close_day"),
    path("hours/closed/<int:pk>/open/", hours.open_day, name="open_day"),
    path("reminders/", reminders.reminders, name="reminders"),
    path("stop-reminders/<str:token>/", opt_out.stop_reminders, name="stop_reminders"),
    path("reminders/desk/", reminders.desk, name="desk_policy"),
    path("reminders/words/<slug:kind>/", reminders.template, name="reminder_template"),
    path("reminders/<int:pk>/", reminders.preview, name="reminder"),
    path("reminders/<int:pk>/settle/", reminders.settle, name="settle_reminder"),
    path("patch-tests/", patch_tests.worklist, name="patch_worklist"),
    path("patch-tests/<int:pk>/read/", patch_tests.read, name="read_patch_test"),
    path("patch-tests/<int:pk>/slip/", patch_tests.slip, name="patch_slip"),
]
