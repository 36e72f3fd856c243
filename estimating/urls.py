"""Addresses of findings and offers."""

from __future__ import annotations

from django.urls import path

from estimating.web import inspections, vehicles

urlpatterns = [
    path("vehicles/<int:vehicle_id>/", vehicles.vehicle, name="vehicle"),
    path("vehicles/<int:vehicle_id>/inspect/", inspections.inspection_new, name="inspection_new"),
    path("inspections/<int:inspection_id>/", inspections.inspection, name="inspection"),
]
