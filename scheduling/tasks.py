"""What happens by the clock; the schedule is ``CELERY_BEAT_SCHEDULE`` in the settings.

The due row in the database is the truth: tasks take no row, carry no time and may
run twice at once or be missed altogether without harm.
"""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from scheduling.services import calendar_kept, cures, drafts, lapse, planruns, reminders
from shop.celery import app
from shop.models import Channel

SEND_WITHIN = timedelta(seconds=45)
"""A round takes up nothing after so long: the next begins in the same minute."""
SEND_SOFT_SECONDS, SEND_HARD_SECONDS = 600, 630
"""More than ``SEND_WITHIN`` and one message whose every step nearly times out."""


@app.task(
    name="scheduling.send_email", soft_time_limit=SEND_SOFT_SECONDS, time_limit=SEND_HARD_SECONDS
)
def send_email(limit: int = 200) -> None:
    """Send the e-mails that are due; a mail server that stalls holds up no text message."""
    reminders.reminders_send_due(
        now=timezone.now(), limit=limit, channels=[Channel.EMAIL], within=SEND_WITHIN
    )


@app.task(
    name="scheduling.send_text", soft_time_limit=SEND_SOFT_SECONDS, time_limit=SEND_HARD_SECONDS
)
def send_text(limit: int = 200) -> None:
    """Send the text messages that are due."""
    reminders.reminders_send_due(
        now=timezone.now(), limit=limit, channels=[Channel.TEXT], within=SEND_WITHIN
    )


@app.task(name="scheduling.cures_update", soft_time_limit=240, time_limit=270)
def cures_update() -> None:
    """Bring running cures up to date and end those that are done."""
    cures.cures_update(now=timezone.now())


@app.task(name="scheduling.kept_slots_lapse", soft_time_limit=50, time_limit=60)
def kept_slots_lapse() -> None:
    """Let go what was kept for callers for long enough."""
    lapse.slots_lapse(now=timezone.now())


@app.task(name="scheduling.calendar_notes_prune", soft_time_limit=240, time_limit=270)
def calendar_notes_prune() -> None:
    """Remove what every process has long read of what changed in the calendars."""
    calendar_kept.notes_prune(now=timezone.now())


@app.task(name="scheduling.call_drafts_clear")
def call_drafts_clear() -> None:
    """Delete calls at the desk that nobody will go on with."""
    drafts.drafts_clear(now=timezone.now())


@app.task(name="scheduling.plan_improve", soft_time_limit=330, time_limit=360)
def plan_improve(run_id: int) -> None:
    """Search for a better week or an answer to trouble; the row of the run says which."""
    planruns.planrun_work(run_id=run_id, clock=timezone.now)
