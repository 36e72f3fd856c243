"""Registers the ``shop`` room with Django."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate

from shop.guards import lay_guards
from shop.triggers import lift_triggers


class ShopConfig(AppConfig):
    """The ``shop`` room."""

    name = "shop"
    label = "shop"
    verbose_name = "Shop records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Lay the guards of a job's events after every migrate; make way for migrations."""
        pre_migrate.connect(lift_triggers, sender=self, dispatch_uid="shop.lift_triggers")
        post_migrate.connect(lay_guards, sender=self, dispatch_uid="shop.guards")
