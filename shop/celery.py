"""The Celery application.

Tasks are declared with ``@app.task`` from this module (not ``shared_task``):
whoever imports a task has thereby the configured application, and a command
that uses no task never pays for importing Celery.
"""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")

app = Celery("halfmil")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
