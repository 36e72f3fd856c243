"""Registers the ``shop`` room with Django."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """The ``shop`` room."""

    name = "shop"
    label = "shop"
    verbose_name = "Shop records"
    default_auto_field = "django.db.models.BigAutoField"
