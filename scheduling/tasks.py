"""What happens by the clock; the schedule is ``CELERY_BEAT_SCHEDULE`` in the settings.

The due row in the database is the truth: tasks take no row, carry no time and may
run twice at once or be missed altogether without harm.
"""

from __future__ import annotations

from django.utils import timezone

from scheduling.services import calendar_kept, cures, planruns, reminders
from shop.celery import app


@app.task(name="scheduling.send_due_reminders")
def send_due_reminders(limit: int = 200) -> None:
    """Send what is due; the same as ``manage.py remind``."""
    reminders.reminders_send_due(now=timezone.now(), limit=limit)


@app.task(name="scheduling.cures_update")
def cures_update() -> None:
    """Bring running cures up to date and end those that are done."""
    cures.cures_update(now=timezone.now())


@app.task(name="scheduling.calendar_notes_prune")
def calendar_notes_prune() -> None:
    """Remove what every process has long read of what changed in the calendars."""
    calendar_kept.notes_prune(now=timezone.now())


@app.task(name="scheduling.plan_improve", soft_time_limit=330, time_limit=360)
def plan_improve(run_id: int) -> None:
    """Search for a better week or an answer to trouble; the row of the run says which."""
    planruns.planrun_work(run_id=run_id, clock=timezone.now)
