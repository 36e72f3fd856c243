"""One vehicle all the way, told step by step, from the call to the costed job."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from estimating.core.options import Options
from estimating.models import Gauge, Quote
from estimating.services.inspections import inspection_save
from estimating.services.quotes import quote_make, quote_send
from scheduling.demo.play import Play
from scheduling.demo.setting_up import DemoShop, fixture
from scheduling.models import Hold, Reminder
from scheduling.services.bookings import quote_book
from shop.costing import JobCosting
from shop.models import Channel, ConsentPurpose, Job, Operation, Vehicle
from shop.months import first_of_month
from shop.selectors import job_costing
from shop.services.customers import consent_set, customer_add
from shop.services.vehicles import vehicle_add
from shop.web.show import sure_text

Say = Callable[[str], None]


@dataclass
class Walkthrough:
    """Plays its part inside the play and tells it through ``say``."""

    demo: DemoShop
    play: Play
    say: Say
    job: Job | None = None

    def call(self, now: datetime) -> None:
        """The caller's part: inspection, plan, quote and booking, at ``now``."""
        vehicle = self._vehicle(now)
        document = json.loads(fixture("inspections/pickup_new.json").read_text(encoding="utf-8"))
        inspection = inspection_save(
            vehicle=vehicle,
            member=self.demo.desk,
            now=now,
            document={key: document[key] for key in ("format", "unit", "panels")},
            gauge=Gauge.objects.filter(shop=self.demo.shop).first(),
            finished=True,
        )
        quote = quote_make(
            shop=self.demo.shop,
            member=self.demo.desk,
            customer=vehicle.customer,
            vehicle=vehicle,
            goal=document["goal"],
            options=Options(coating="lantern", add_ons=("glass",)),
            now=now,
            inspection=inspection,
        )
        quote_send(quote=quote, member=self.demo.desk, now=now)
        self._tell_inspection(vehicle, document, now)
        self._tell_plan(quote)
        self._tell_money(quote)
        self.job = quote_book(
            quote=quote, member=self.demo.desk, now=now, earliest=now + timedelta(hours=16)
        )
        self._tell_booking(self.job)
        self.play.expect(self.job)

    def tell_the_end(self, now: datetime) -> None:
        """What became of it by ``now``: work log, costing, reminders."""
        assert self.job is not None
        self.job.refresh_from_db()
        self._tell_work(self.job)
        self._tell_costing(self.job, now)
        self._tell_reminders(self.job)

    def _vehicle(self, now: datetime) -> Vehicle:
        customer = customer_add(
            shop=self.demo.shop,
            name="Wilhelmina Tarrow",
            phone="202-555-0191",
            email="wilhelmina.tarrow@example.com",
        )
        for purpose in (ConsentPurpose.VISIT, ConsentPurpose.AFTERCARE):
            consent_set(
                customer=customer,
                channel=Channel.EMAIL,
                purpose=purpose,
                granted=True,
                source="phone",
                now=now,
            )
        today = timezone.localtime(now, self.demo.shop.tz).date()
        return vehicle_add(
            customer=customer,
            description="pickup, crew cab, dark blue",
            body="pickup",
            colour="dark blue",
            tone="dark",
            first_used_on=first_of_month(today, 4),
            storage="garage",
            wash_habit="hand",
        )

    def _heading(self, number: int, text: str) -> None:
        self.say("")
        self.say(f"{number}. {text}")

    def _local(self, moment: datetime | None) -> str:
        if moment is None:
            return "not set"
        return f"{timezone.localtime(moment, self.demo.shop.tz):%a %d %b %H:%M}"

    def _tell_inspection(self, vehicle: Vehicle, document: dict[str, Any], now: datetime) -> None:
        self._heading(
            1, f"Inspection, {self._local(now)}: {vehicle}, {vehicle.age_months(now.date())} months"
        )
        for panel in document["panels"]:
            spots = " / ".join(" ".join(str(r) for r in spot) for spot in panel["spots"])
            found = ", ".join(_defect_words(d) for d in panel.get("defects", ()))
            self.say(
                f"   {_plain(panel['panel']):22} {spots or 'no reading':34} {found or 'clean'}"
            )

    def _tell_plan(self, quote: Quote) -> None:
        self._heading(2, "Plan: the cheapest safe one for each panel (film in mil)")
        self.say(f"   {'panel':22} {'level':8} {'takes':>6} {'leaves':>7} {'risk':>7}  spot work")
        for panel in quote.estimate["panels"]:
            spot = ", ".join(
                f"{w['count']}× {_plain(w['kind'])}: {w['method']}" for w in panel["spot_work"]
            )
            self.say(
                f"   {_plain(panel['panel']):22} {panel['level']:8} {_figure(panel['removal']):>6} "
                f"{_figure(panel['remaining_p05']):>7} {_risk(panel['risk']):>7}  {spot or '–'}"
            )
        for warning in quote.estimate["warnings"]:
            self.say(f"   ! {warning}")

    def _tell_money(self, quote: Quote) -> None:
        estimate = quote.estimate
        hours = estimate["hours"]
        self._heading(3, "Hours and materials")
        self.say(
            f"   {hours['p50']:.1f} h likely, "
            f"{hours['p10']:.1f} to {hours['p90']:.1f} h in eight of ten cases"
        )
        for line in estimate["materials"]:
            self.say(
                f"   {line['item']:34} {line['quantity']:>9.2f} {line['unit']:8} {line['cost']:>8}"
            )
        cost, price = estimate["cost"], estimate["price"]
        self._heading(4, f"Price, {price['currency']} before tax")
        self.say(
            f"   cost {cost['total']}: labour {cost['labour']}, bay {cost['bay']}, "
            f"materials {cost['materials']}, "
            f"overhead and card fee {cost['overhead']}"
        )
        self.say(
            f"   {price['p10']} – {price['p90']}, likely {price['p50']}; offered {quote.price:.2f} "
            f"as {quote}, margin {float(quote.margin):.0%}, "
            f"valid until {self._local(quote.valid_until)}"
        )

    def _tell_booking(self, job: Job) -> None:
        self._heading(5, f"Booking {job.number}: the earliest start with nothing else moved")
        sure = f" ({sure_text(job.promise_probability)})" if job.promise_probability else ""
        drop_off, pick_up = self._local(job.arrives_at), self._local(job.promised_at)
        self.say(f"   drop-off {drop_off}, pick-up {pick_up}{sure}")
        holds = list(Hold.objects.filter(job=job).select_related("resource"))
        for row in job.operations.all():
            self.say(
                f"   {self._local(row.planned_start)} – {self._local(row.planned_end)}  "
                f"{row.name:38} {', '.join(_places(row, holds))}"
            )

    def _tell_work(self, job: Job) -> None:
        self._heading(6, f"Work log ({job.get_state_display().lower()})")
        entries = [
            entry
            for row in job.operations.prefetch_related("work__member")
            for entry in row.work.all()
        ]
        for entry in entries:
            self.say(
                f"   {self._local(entry.started_at)} – {self._local(entry.ended_at)}  "
                f"{entry.operation.name:38} {entry.member}"
            )

    def _tell_costing(self, job: Job, now: datetime) -> None:
        costing = job_costing(job, now)
        self._heading(7, "Actual against estimate")
        for name, estimated, actual in _costing_rows(costing):
            self.say(f"   {name:12} {estimated:>10} {actual:>10}")

    def _tell_reminders(self, job: Job) -> None:
        self._heading(8, "Messages and reminders")
        for row in Reminder.objects.filter(job=job):
            self.say(
                f"   {self._local(row.due_at)}  {row.get_purpose_display():24} "
                f"{row.get_channel_display():12} {row.get_state_display().lower()}"
            )


def _places(operation: Operation, holds: list[Hold]) -> list[str]:
    """Bay of an operation, whose hold covers the whole stay, then its people and lamps."""
    start = operation.planned_start
    assert start is not None
    bay = [h.resource.name for h in holds if h.operation_id is None and h.start <= start < h.end]
    own = {h.resource.name for h in holds if h.operation_id == operation.pk}
    return [*bay, *sorted(own - set(bay))]


def _plain(word: str) -> str:
    return word.replace("_", " ")


def _figure(value: float | None) -> str:
    return "–" if value is None else f"{value:.2f}"


def _risk(value: float | None) -> str:
    if value is None:
        return "–"
    return "<0.01 %" if value < 0.0001 else f"{value:.2%}"


def _defect_words(defect: dict[str, Any]) -> str:
    size = f"{defect['extent']:.0%}" if "extent" in defect else f"{defect['count']}×"
    local = f" to {defect['local_reading']}" if defect.get("local_reading") else ""
    return f"{defect.get('severity', '')} {_plain(defect['kind'])} {size}{local}".strip()


def _costing_rows(costing: JobCosting) -> Iterator[tuple[str, str, str]]:
    yield "", "estimated", "actual"
    yield "hours", f"{costing.hours.estimated:.2f}", f"{costing.hours.actual:.2f}"
    for name in ("labour", "bay", "materials", "overhead", "card_fee", "cost", "profit"):
        part = getattr(costing, name)
        yield _plain(name), f"{part.estimated:.2f}", f"{part.actual:.2f}"
    yield "margin", _share(costing.margin_estimated), _share(costing.margin_actual)


def _share(value: Decimal | None) -> str:
    return "–" if value is None else f"{value:.1%}"
