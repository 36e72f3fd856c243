"""Registers the ``estimating`` room with Django."""

from django.apps import AppConfig


class EstimatingConfig(AppConfig):
    """The ``estimating`` room."""

    name = "estimating"
    label = "estimating"
    verbose_name = "Estimating"
    default_auto_field = "django.db.models.BigAutoField"
