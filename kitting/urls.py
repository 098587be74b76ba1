"""Every address of the site: the pages of both houses, the API, the machinery."""

from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView

from kitting import security

urlpatterns = [
    path("", include("inventory.urls")),
    path("api/schema", SpectacularAPIView.as_view(), name="api_schema"),
    path("csp-report", security.csp_report, name="csp_report"),
]
