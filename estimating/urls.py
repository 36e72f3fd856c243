"""Addresses of findings and offers."""

from __future__ import annotations

from django.urls import path

from estimating.web import inspections

urlpatterns = [
    path("vehicles/<int:vehicle_id>/inspect/", inspections.inspection_new, name="inspection_new"),
    path("inspections/<int:inspection_id>/", inspections.inspection, name="inspection"),
]
