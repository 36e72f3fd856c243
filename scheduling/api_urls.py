"""Addresses of the calendar, the floor and reminders below ``/api/``."""

from django.urls import include, path
from rest_framework.routers import SimpleRouter

from scheduling.api.if_moved import IfMovedBookView, IfMovedView
from scheduling.api.jobs import JobViewSet, QuoteBookingViewSet
from scheduling.api.kept import KeptSlotViewSet
from scheduling.api.offers import OffersView
from scheduling.api.operations import OperationViewSet
from scheduling.api.reminders import ReminderViewSet
from scheduling.api.resources import ClimateViewSet, HoldViewSet, ResourceViewSet

router = SimpleRouter()
router.register("jobs", JobViewSet, "api_job")
router.register("quotes", QuoteBookingViewSet, "api_quote_booking")
router.register("operations", OperationViewSet, "api_operation")
router.register("resources", ResourceViewSet, "api_resource")
router.register("holds", HoldViewSet, "api_hold")
router.register("kept-slots", KeptSlotViewSet, "api_kept_slot")
router.register("climate-readings", ClimateViewSet, "api_climate")
router.register("reminders", ReminderViewSet, "api_reminder")

urlpatterns = [
    path("offers/", OffersView.as_view(), name="api_offers"),
    path("offers/if-moved/", IfMovedView.as_view(), name="api_if_moved"),
    path("offers/if-moved/book/", IfMovedBookView.as_view(), name="api_if_moved_book"),
    path("", include(router.urls)),
]
