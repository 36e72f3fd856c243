"""Addresses of the site; each room brings its own."""

from django.contrib import admin
from django.http import HttpRequest, HttpResponse
from django.urls import path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView


def alive(_request: HttpRequest) -> HttpResponse:
    """Answer that the site runs, for whatever watches it."""
    return HttpResponse("ok\n", content_type="text/plain")


urlpatterns = [
    path("alive/", alive, name="alive"),
    path("admin/", admin.site.urls),
    path("api/schema/", SpectacularAPIView.as_view(), name="api_schema"),
    path(
        "api/docs/",
        SpectacularSwaggerSplitView.as_view(url_name="api_schema"),
        name="api_docs",
    ),
]
