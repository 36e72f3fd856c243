"""Registers the ``scheduling`` room with Django."""

from django.apps import AppConfig


class SchedulingConfig(AppConfig):
    """The ``scheduling`` room."""

    name = "scheduling"
    label = "scheduling"
    verbose_name = "Scheduling"
    default_auto_field = "django.db.models.BigAutoField"
