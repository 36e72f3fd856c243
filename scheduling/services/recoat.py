"""The window for the next layer: in hours at the reference temperature, moved by the log.

The data sheet gives the window at one temperature; a cold panel flashes off later and
stays open longer. The product's own sheet rules.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from scheduling.core.climate import CureProfile, RateModel, cure_state
from scheduling.models import Resource
from scheduling.services.cures import coating_figures
from scheduling.services.horizon import policy_of
from scheduling.services.panel_log import panel_log
from scheduling.services.reminder_causes import recoat_reminders_set
from shop.models import Operation, OperationKind, OperationState

_MINUTE: Final = timedelta(minutes=1)
_LOOK_BACK: Final = timedelta(days=2)


@dataclass(frozen=True)
class RecoatWindow:
    """When the next layer may be laid."""

    layer: Operation
    opens_at: datetime
    closes_at: datetime


def recoat_window(done: Operation, now: datetime) -> RecoatWindow | None:
    """Return the window that a finished layer opens, with the readings up to ``now``.

    None where no layer follows, it was begun, or the sheet gives no end.
    """
    if done.kind != OperationKind.COATING or done.finished_at is None:
        return None
    after = Operation.objects.filter(job=done.job_id, sequence__gt=done.sequence)
    layer = after.order_by("sequence").first()
    if layer is None or layer.kind != OperationKind.COATING:
        return None
    if layer.state != OperationState.PLANNED or layer.lag_max_minutes is None:
        return None
    layer.job = done.job
    return RecoatWindow(
        layer,
        _after(done, layer.lag_min_minutes, now),
        _after(done, layer.lag_max_minutes, now),
    )


def recoat_window_tell(*, done: Operation, now: datetime) -> None:
    """Write or move the messages of the window that a finished layer opened."""
    window = recoat_window(done, now)
    if window is not None:
        recoat_reminders_set(
            operation=window.layer,
            opens_at=window.opens_at,
            closes_at=window.closes_at,
            now=now,
        )


def recoat_windows_follow(*, bay: Resource, now: datetime) -> None:
    """A reading moves the windows of the vehicles in that bay, and their messages."""
    layers = (
        Operation.objects.filter(
            job__holds__resource=bay,
            job__holds__end__gt=now,
            kind=OperationKind.COATING,
            state=OperationState.DONE,
            finished_at__gt=now - _LOOK_BACK,
        )
        .select_related("job__shop", "job__customer", "job__quote")
        .distinct()
    )
    for done in layers:
        recoat_window_tell(done=done, now=now)


def _after(done: Operation, minutes: int, now: datetime) -> datetime:
    assert done.finished_at is not None
    if minutes == 0:
        return done.finished_at
    figures = coating_figures(done.job)
    if figures is None:
        return done.finished_at + minutes * _MINUTE
    assumed_c = policy_of(done.job.shop).bay_c
    log = panel_log(done.job_id, done.finished_at, now, assumed_c)
    profile = CureProfile(
        minutes=minutes, reference_c=figures.reference_c, model=RateModel.Q10, q10=figures.q10
    )
    end = cure_state(log, profile, assumed_c=assumed_c).end_minute
    return done.finished_at + round(end) * _MINUTE
