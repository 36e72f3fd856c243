"""Addresses of findings and offers."""

from __future__ import annotations

from django.urls import path

from estimating.web import (
    customer_links,
    gauges,
    inspections,
    photos,
    quotes,
    readings_in,
    vehicles,
)

urlpatterns = [
    path("vehicles/<int:vehicle_id>/", vehicles.vehicle, name="vehicle"),
    path("vehicles/<int:vehicle_id>/film.pdf", vehicles.certificate, name="certificate"),
    path("vehicles/<int:vehicle_id>/inspect/", inspections.inspection_new, name="inspection_new"),
    path("quotes/<int:quote_id>/", quotes.quote, name="quote"),
    path("quotes/<int:quote_id>/pdf/", quotes.quote_paper, name="quote_pdf"),
    path("quotes/<int:quote_id>/send/", quotes.quote_letter, name="quote_letter"),
    path("quotes/<int:quote_id>/decline/", quotes.quote_no, name="quote_no"),
    path("quotes/<int:quote_id>/link/", customer_links.customer_link, name="customer_link"),
    path("inspections/<int:inspection_id>/", inspections.inspection, name="inspection"),
    path("inspections/<int:inspection_id>/readings/", readings_in.readings_in, name="readings_in"),
    path("inspections/<int:inspection_id>/photos/", photos.photos, name="photos"),
    path("photos/<int:photo_id>/remove/", photos.photo_away, name="photo_away"),
    path("photos/<int:photo_id>/restore/", photos.photo_back, name="photo_back"),
    path(
        "photos/<int:photo_id>/<slug:digest>.jpg",
        photos.photo_image,
        {"small": False},
        name="photo",
    ),
    path(
        "photos/<int:photo_id>/<slug:digest>/small.jpg",
        photos.photo_image,
        {"small": True},
        name="photo_small",
    ),
    path("gauges/", gauges.gauges, name="gauges"),
    path("gauges/<int:gauge_id>/check/", gauges.gauge_check, name="gauge_check"),
]
