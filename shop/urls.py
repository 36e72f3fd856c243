"""Addresses of the site; each room brings its own."""

from django.contrib import admin
from django.contrib.auth.views import LogoutView
from django.http import HttpRequest, HttpResponse
from django.urls import include, path

from shop.web import customers, vehicles
from shop.web.home import home
from shop.web.sign_in import sign_in


def alive(_request: HttpRequest) -> HttpResponse:
    """Answer that the site runs, for whatever watches it."""
    return HttpResponse("ok\n", content_type="text/plain")


urlpatterns = [
    path("", home, name="home"),
    path("sign-in/", sign_in, name="sign_in"),
    path("sign-out/", LogoutView.as_view(), name="sign_out"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer_new"),
    path("customers/<int:customer_id>/", customers.customer, name="customer"),
    path("customers/<int:customer_id>/change/", customers.customer_edit, name="customer_edit"),
    path(
        "customers/<int:customer_id>/consent/",
        customers.customer_consent,
        name="customer_consent",
    ),
    path("customers/<int:customer_id>/vehicle/", vehicles.vehicle_new, name="vehicle_new"),
    path("vehicles/<int:vehicle_id>/change/", vehicles.vehicle_edit, name="vehicle_edit"),
    # Named by text: the rooms know the shop, the shop does not know the rooms.
    path("", include("estimating.urls")),
    path("", include("scheduling.urls")),
    path("alive/", alive, name="alive"),
    path("admin/", admin.site.urls),
    path("api/", include("shop.api_urls")),
    path("api/", include("estimating.api_urls")),
    path("api/", include("scheduling.api_urls")),
]
