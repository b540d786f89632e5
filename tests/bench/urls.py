"""The product's addresses, and Django's own lists of the same rows."""

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.db.models import Model
from django.urls import include, path

from clients.models import Appointment, Client
from consult.models import Visit


class Site(admin.AdminSite):
    """Open to who is signed in: it measures, it protects nothing."""

    def has_permission(self, request: Any) -> bool:
        return True


if TYPE_CHECKING:
    Admin = admin.ModelAdmin[Model]
else:
    Admin = admin.ModelAdmin


class Rows(Admin):
    """A list as somebody would set it up for a salon: names looked up, found by name."""

    def has_view_permission(self, request: Any, obj: Any = None) -> bool:
        return True

    has_module_permission = has_add_permission = has_change_permission = has_view_permission
    has_delete_permission = has_view_permission


class Clients(Rows):
    list_display = ("name", "phone", "email", "preferred_stylist")
    search_fields = ("name",)


class Appointments(Rows):
    list_display = ("client", "stylist", "service", "starts_at", "status")
    list_select_related = ("client", "stylist", "service")
    date_hierarchy = "starts_at"


class Visits(Rows):
    list_display = ("client", "stylist", "line", "opened_at", "status")
    list_select_related = ("client", "stylist", "line")
    list_filter = ("status",)


site = Site(name="admin")
site.register(Client, Clients)
site.register(Appointment, Appointments)
site.register(Visit, Visits)

urlpatterns = [path("admin/", site.urls), path("", include("salon.urls"))]
