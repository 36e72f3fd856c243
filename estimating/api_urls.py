"""Addresses of findings, estimates and quotes below ``/api/``."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from estimating.api.estimates import EstimateView
from estimating.api.inspections import GaugeViewSet, InspectionViewSet
from estimating.api.quotes import QuoteViewSet

router = SimpleRouter()
router.register("gauges", GaugeViewSet, "api_gauge")
router.register("inspections", InspectionViewSet, "api_inspection")
router.register("quotes", QuoteViewSet, "api_quote")

urlpatterns = [
    path("estimates/", EstimateView.as_view(), name="api_estimate"),
    path("", include(router.urls)),
]
