"""The cure of a coating: start it, follow it over the logged temperature, end it.

The profile is copied when the last coat is finished. How far it is comes from
:mod:`scheduling.core.climate`; a product's own data sheet rules.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from scheduling.core.climate import CureProfile, CureState, RateModel, Reading, cure_state
from scheduling.models import Cure, LampRun
from scheduling.services.horizon import policy_of
from scheduling.services.panel_log import Warm, panel_log
from scheduling.services.reminder_rows import cure_reminder_set, ready_reminder_write
from scheduling.services.when import moment_text
from shop.models import (
    CoatingSystem,
    Job,
    JobState,
    Member,
    Operation,
    OperationKind,
    OperationState,
)
from shop.services.job_state import job_move, job_note

_MINUTE: Final = timedelta(minutes=1)


@dataclass(frozen=True)
class CureFigures:
    """What a cure needs of a coating system; hours at the reference temperature."""

    system_name: str
    reference_c: float
    q10: float
    handover_hours: float
    full_cure_hours: float
    wash_after_hours: float


@dataclass(frozen=True)
class CureForecast:
    """How far a cure is towards the hand-over (1 is there), and its moments."""

    progress: float
    handover_at: datetime
    full_at: datetime
    wash_from: datetime


def cure_start(*, job: Job, coat: Operation, now: datetime, member: Member | None) -> Cure:
    """Start the cure clock of ``job`` when its last coat is finished, with its message.

    Called inside the transaction that finishes the coat.
    """
    operation = (
        Operation.objects.filter(job=job, kind=OperationKind.CURE, sequence__gt=coat.sequence)
        .order_by("sequence")
        .first()
    )
    figures = _figures_of(job, operation)
    cure = Cure(
        job=job,
        operation=operation or coat,
        started_at=now,
        system_name=figures.system_name,
        reference_c=figures.reference_c,
        q10=figures.q10,
        handover_hours=figures.handover_hours,
        full_cure_hours=figures.full_cure_hours,
        wash_after_hours=figures.wash_after_hours,
    )
    forecast = cure_forecast(cure, now)
    cure.forecast_handover_at, cure.forecast_full_at = forecast.handover_at, forecast.full_at
    cure.save()
    if operation is not None:
        operation.state = OperationState.RUNNING
        operation.started_at = now
        operation.save(update_fields=["state", "started_at"])
    job_note(
        job=job,
        kind="cure",
        now=now,
        member=member,
        why=_("%(system)s cures, forecast until %(when)s.")
        % {
            "system": figures.system_name,
            "when": moment_text(forecast.handover_at, job.shop),
        },
    )
    cure_reminder_set(cure=cure, now=now)
    return cure


def cure_forecast(cure: Cure, now: datetime) -> CureForecast:
    """Return progress and forecasts of a cure from the readings of its bay up to ``now``.

    Between two readings the temperature runs straight; before the first and after
    the last it is what the shop assumes for its bays. Everything is counted in
    absolute time: a night in which the clocks change does not shift the cure.
    """
    assumed_c = policy_of(cure.job.shop).bay_c
    log = _log(cure, now, assumed_c)

    def until(hours: float) -> CureState:
        profile = CureProfile(
            minutes=hours * 60,
            reference_c=cure.reference_c,
            model=RateModel.Q10,
            q10=cure.q10,
        )
        return cure_state(log, profile, assumed_c=assumed_c)

    handover = until(cure.handover_hours)
    return CureForecast(
        progress=handover.progress,
        handover_at=_moment(cure, handover),
        full_at=_moment(cure, until(cure.full_cure_hours)),
        wash_from=_moment(cure, until(cure.wash_after_hours)),
    )


def cure_refresh(*, cure: Cure, now: datetime) -> bool:
    """Bring one cure up to date; end it when it has reached the hand-over.

    Returns
    -------
    bool
        Whether it ended now.

    Notes
    -----
    Race: the clock and a person at the screen do this at once. The job's row is
    locked first and the cure's operation read after that, so it ends once.
    """
    with transaction.atomic():
        job = Job.objects.select_for_update().select_related("shop", "customer").get(pk=cure.job_id)
        operation = Operation.objects.get(pk=cure.operation_id)
        if operation.kind == OperationKind.CURE and operation.state != OperationState.RUNNING:
            return False
        cure.job, cure.operation = job, operation
        forecast = cure_forecast(cure, now)
        _moved(cure, forecast, now)
        if forecast.handover_at > now or job.state != JobState.CURING:
            return False
        lamps_end(cure=cure, now=now)
        if operation.kind == OperationKind.CURE:
            operation.state = OperationState.DONE
            operation.finished_at = forecast.handover_at
            operation.save(update_fields=["state", "finished_at"])
        job_settle(job=job, now=now, member=None, why=_("Cure done"))
    return True


def lamps_end(*, cure: Cure, now: datetime) -> None:
    """End the lamp's stretch of a cure that is over: nobody switches it off any more."""
    LampRun.objects.filter(cure=cure, ended_at__isnull=True).update(ended_at=now)


def cures_update(*, now: datetime) -> int:
    """Bring every running cure of every shop up to date; return how many ended.

    Safe to run at any time and twice at once.
    """
    running = Cure.objects.select_related("job__shop", "job__customer").filter(
        job__state=JobState.CURING
    )
    return sum(cure_refresh(cure=cure, now=now) for cure in running)


def job_settle(*, job: Job, now: datetime, member: Member | None, why: str) -> None:
    """Give a job the state that its operations have earned: curing, in work, or ready."""
    left = list(
        Operation.objects.filter(job=job).exclude(state=OperationState.DONE).order_by("sequence")
    )
    if not left:
        if job.state in (JobState.IN_WORK, JobState.CURING):
            event = job_move(job=job, to=JobState.READY, now=now, member=member, why=why)
            ready_reminder_write(job=job, event=event, now=now)
        return
    cures = left[0].kind == OperationKind.CURE and left[0].state == OperationState.RUNNING
    if cures and job.state == JobState.IN_WORK:
        job_move(job=job, to=JobState.CURING, now=now, member=member, why=why)
    elif not cures and job.state == JobState.CURING:
        job_move(job=job, to=JobState.IN_WORK, now=now, member=member, why=why)


def _moved(cure: Cure, forecast: CureForecast, now: datetime) -> None:
    """Keep a changed forecast and move the message that hangs on it."""
    changed = abs(forecast.handover_at - cure.forecast_handover_at) >= _MINUTE
    changed |= abs(forecast.full_at - cure.forecast_full_at) >= _MINUTE
    if not changed:
        return
    cure.forecast_handover_at, cure.forecast_full_at = forecast.handover_at, forecast.full_at
    cure.save(update_fields=["forecast_handover_at", "forecast_full_at"])
    cure_reminder_set(cure=cure, now=now)


def _moment(cure: Cure, state: CureState) -> datetime:
    """A moment of the cure to the minute: more is not known of any coating."""
    return cure.started_at + round(state.end_minute) * _MINUTE


def _log(cure: Cure, now: datetime, assumed_c: float) -> list[Reading]:
    present = (now - cure.started_at) / _MINUTE
    runs = [Warm(*one) for one in _runs(cure, present)]
    return panel_log(cure.job_id, cure.started_at, now, assumed_c, runs)


def _runs(cure: Cure, present: float) -> Iterator[tuple[float, float, float]]:
    """Stretches under a lamp so far; one that is on counts until now and not ahead."""
    for run in cure.lamp_runs.order_by("started_at") if cure.pk else ():
        start = max(0.0, (run.started_at - cure.started_at) / _MINUTE)
        end = present
        if run.ended_at is not None:
            end = min(present, (run.ended_at - cure.started_at) / _MINUTE)
        if end > start:
            yield start, end, run.panel_c


def _figures_of(job: Job, operation: Operation | None) -> CureFigures:
    figures = coating_figures(job)
    if figures is not None:
        return figures
    # Coated without a system on the quote: the planned minutes, whatever the temperature.
    hours = max(1.0, operation.planned_minutes / 60 if operation else 12.0)
    return CureFigures(_("Coating"), policy_of(job.shop).bay_c, 1.0, hours, hours, hours)


def coating_figures(job: Job) -> CureFigures | None:
    """Figures of the quote's coating system: as quoted, else as the catalogue has them."""
    quote = getattr(job, "quote", None)
    code = _code_of(quote.request) if quote is not None else None
    if quote is not None and code:
        quoted = _row_of(quote.parameters, code)
        if quoted is not None:
            return _from_snapshot(quoted)
        day = quote.created_at.astimezone(job.shop.tz).date()
        row = CoatingSystem.objects.of(job.shop).in_effect(day).filter(code=code).last()
        if row is not None:
            return CureFigures(
                row.name,
                row.reference_c,
                row.q10,
                row.handover_hours,
                row.full_cure_hours,
                row.first_wash_hours,
            )
    return None


def _code_of(request: Mapping[str, Any]) -> str | None:
    code = request.get("options", {}).get("coating")
    return code if isinstance(code, str) and code else None


def _row_of(parameters: Mapping[str, Any], code: str) -> Mapping[str, Any] | None:
    catalogue = parameters.get("catalogue", parameters)
    for row in catalogue.get("coating_systems", ()):
        if row.get("code") == code:
            return row
    return None


def _from_snapshot(row: Mapping[str, Any]) -> CureFigures:
    return CureFigures(
        str(row["name"]),
        float(row["reference_c"]),
        float(row["q10"]),
        float(row["handover_hours"]),
        float(row["full_cure_hours"]),
        float(row["first_wash_hours"]),
    )
