"""Registers the ``scheduling`` room with Django."""

from importlib import import_module

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from scheduling.calendar_watch import watch_calendars
from scheduling.guards import lay_guards


class SchedulingConfig(AppConfig):
    """The ``scheduling`` room."""

    name = "scheduling"
    label = "scheduling"
    verbose_name = "Scheduling"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Lay the guards that SQLite keeps as triggers, after every migrate."""
        post_migrate.connect(lay_guards, sender=self, dispatch_uid="scheduling.guards")
        post_migrate.connect(watch_calendars, sender=self, dispatch_uid="scheduling.calendar_watch")
        # Here, not above: it looks at models, which are there only now.
        import_module("scheduling.receivers").connect()
