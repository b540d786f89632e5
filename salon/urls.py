"""The table of contents of the whole product."""

from django.urls import include, path

urlpatterns = [
    path("", include("salon.house_urls")),
    path("", include("clients.urls")),
    path("", include("formulas.urls")),
    path("", include("consult.urls")),
]

handler500 = "salon.failures.server_error"
