"""Addresses of the shop's records below ``/api/``, and the description of all rooms'."""

from django.contrib.auth.decorators import login_required
from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.routers import SimpleRouter

from shop.api.catalogue import CatalogueView
from shop.api.customers import CustomerViewSet
from shop.api.materials import ConsumableViewSet, MaterialUseViewSet
from shop.api.vehicles import VehicleViewSet

router = SimpleRouter()
router.register("customers", CustomerViewSet, "api_customer")
router.register("vehicles", VehicleViewSet, "api_vehicle")
router.register("catalogue", CatalogueView, "api_catalogue")
router.register("consumables", ConsumableViewSet, "api_consumable")
router.register("material-uses", MaterialUseViewSet, "api_material_use")

_docs = SpectacularSwaggerSplitView.as_view(url_name="api_schema")

urlpatterns = [
    path("schema/", SpectacularAPIView.as_view(), name="api_schema"),
    # A person comes here with a browser: to the sign-in page, not to a 403.
    path("docs/", login_required(_docs), name="api_docs"),
    path("", include(router.urls)),
]
