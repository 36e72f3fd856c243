"""Registers the ``estimating`` room with Django."""

from importlib import import_module

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from estimating.guards import lay_guards


class EstimatingConfig(AppConfig):
    """The ``estimating`` room."""

    name = "estimating"
    label = "estimating"
    verbose_name = "Estimating"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Lay the guards that SQLite keeps as triggers, after every migrate."""
        post_migrate.connect(lay_guards, sender=self, dispatch_uid="estimating.guards")
        # Here, not above: it looks at models, which are there only now.
        watch = import_module("estimating.catalogue_watch").watch_catalogues
        post_migrate.connect(watch, sender=self, dispatch_uid="estimating.catalogue_watch")
