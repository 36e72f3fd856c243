"""What a customer's page shows, by where the business stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from estimating.selectors import balance_of
from estimating.services.customer_pages import page_path
from estimating.services.quote_choices import quote_choices
from estimating.snapshot import coating_of, deposit_of, discount_of
from estimating.web.quote_words import quote_words
from scheduling.models import Cure
from scheduling.selectors.visit_page import Visit, VisitState
from scheduling.services.cures import cure_forecast
from scheduling.services.visit_page import LONGEST_WHY, consents_of, reachable_by
from shop.models import (
    Channel,
    ConsentPurpose,
    Job,
    JobState,
    OpeningHours,
    Operation,
    OperationState,
)

STATE_WORDS: Final[Mapping[str, Any]] = {
    JobState.ON_SITE: gettext_lazy("Your vehicle is with us; work begins soon."),
    JobState.IN_WORK: gettext_lazy("We are working on your vehicle."),
    JobState.CURING: gettext_lazy("The work is done; the coating is hardening."),
}
# Common practice, no source.
PREPARE: Final = (
    gettext_lazy("Take personal things and child seats out of the vehicle."),
    gettext_lazy("Bring every key and remote that is needed to move it."),
    gettext_lazy("You need not wash it; we do that before we measure."),
    gettext_lazy("Tell us of paint work, films or coatings it has had, as far as you know."),
)
# Common practice, no source; the product's own sheet goes first, and the page says so.
CARE: Final = (
    gettext_lazy("Wash by hand with a mild shampoo and soft cloths; no brushes."),
    gettext_lazy("Take bird droppings, sap and insects off soon, with plenty of water."),
    gettext_lazy("Do not polish it or use strong cleaners without asking us."),
)
SAID: Final[Mapping[str, Any]] = {
    "chosen": gettext_lazy("Your choice is kept. Nothing is accepted yet."),
    "accepted": gettext_lazy("Thank you, the quote is accepted."),
    "booked": gettext_lazy("Thank you, your time is booked."),
    "declined": gettext_lazy("Thank you for telling us."),
    "messages": gettext_lazy("What we may write to you about is kept."),
}


@dataclass(frozen=True)
class StepShown:
    """One piece of work: ``mark`` is done, now or next."""

    name: str
    mark: str


def visit_context(visit: Visit, now: datetime, said: str = "") -> dict[str, Any]:
    """Return the context of the page; at most eleven queries beside the two of the link."""
    build = _BY_STATE.get(visit.state)
    return {
        **frame(visit, now),
        "said": SAID.get(said, ""),
        "messages_allowed": _consents(visit),
        **(build(visit, now) if build else {}),
    }


def frame(visit: Visit, now: datetime) -> dict[str, Any]:
    """What every page of one customer needs."""
    return {
        "visit": visit,
        "path": page_path(visit.page),
        "shop": visit.shop,
        "tz": visit.shop.tz,
        "quote": visit.quote,
        "vehicle": visit.quote.vehicle,
        "job": visit.job,
        "state": visit.state.value,
        "now": now,
    }


def _quote(visit: Visit, _now: datetime) -> dict[str, Any]:
    quote = visit.quote
    return {
        "words": quote_words(quote),
        "choices": quote_choices(visit.versions),
        "coating": coating_of(quote.request, quote.parameters),
        "total": quote.price + quote.tax,
        "deposit": deposit_of(quote.parameters),
        "discount": discount_of(quote.parameters),
        "longest_why": LONGEST_WHY,
    }


def _booked(visit: Visit, _now: datetime) -> dict[str, Any]:
    deposit = deposit_of(visit.quote.parameters)
    return {"prepare": PREPARE, "deposit": deposit, "total": visit.quote.price + visit.quote.tax}


def _work(visit: Visit, now: datetime) -> dict[str, Any]:
    job = _job(visit)
    rows = list(Operation.objects.filter(job=job).order_by("sequence"))
    return {
        "state_words": STATE_WORDS[job.state],
        "steps": [StepShown(_name(row), _mark(row)) for row in rows],
        **_cure(job, now),
    }


def _ready(visit: Visit, now: datetime) -> dict[str, Any]:
    job = _job(visit)
    hours = list(OpeningHours.objects.of(visit.shop))
    return {"owed": balance_of(job), "hours": hours, **_cure(job, now)}


def _aftercare(visit: Visit, _now: datetime) -> dict[str, Any]:
    job = _job(visit)
    # The coating left the shop's log with the vehicle: what was told then stands.
    cured = _cure(job, job.handed_over_at) if job.handed_over_at else {}
    return {"owed": balance_of(job), "care": CARE, **cured}


def _cure(job: Job, at: datetime) -> dict[str, Any]:
    cure = Cure.objects.filter(job=job).first()
    if cure is None:
        return {}
    cure.job = job
    forecast = cure_forecast(cure, at)
    # Never "100 %" before it is: rounded down.
    percent = min(100, int(100 * forecast.progress))
    return {"cure": cure, "forecast": forecast, "cure_percent": percent}


def _job(visit: Visit) -> Job:
    assert visit.job is not None
    return visit.job


def _name(row: Operation) -> str:
    return _("Coating: %s") % row.name if row.kind == "coating" else row.name


def _mark(row: Operation) -> str:
    if row.state == OperationState.DONE:
        return "done"
    return "next" if row.state == OperationState.PLANNED else "now"


def _consents(visit: Visit) -> list[dict[str, Any]]:
    """Purposes with a box for each channel, as it stands now."""
    granted = {(row.channel, row.purpose) for row in consents_of(visit.customer) if row.granted}
    channels = reachable_by(visit.customer)
    return [
        {
            "label": label,
            "boxes": [
                (f"{channel}-{purpose}", Channel(channel).label, (channel, purpose) in granted)
                for channel in channels
            ],
        }
        for purpose, label in ConsentPurpose.choices
    ]


_BY_STATE: Final[Mapping[VisitState, Callable[[Visit, datetime], dict[str, Any]]]] = {
    VisitState.QUOTE: _quote,
    VisitState.BOOKED: _booked,
    VisitState.WORK: _work,
    VisitState.READY: _ready,
    VisitState.AFTERCARE: _aftercare,
}
