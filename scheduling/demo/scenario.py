"""Who calls when, and what comes of it: about forty jobs in every state."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from random import Random

from estimating.core.options import Options
from estimating.models import Gauge, Quote
from estimating.services.inspections import inspection_save
from estimating.services.quotes import quote_accept, quote_decline, quote_make, quote_send
from scheduling.demo.callers import Caller, callers_invent, findings_invent
from scheduling.demo.play import Event, Play
from scheduling.demo.setting_up import DemoShop
from scheduling.models import Resource, ResourceKind
from scheduling.services.bookings import booking_cancel, quote_book
from scheduling.services.cures import cures_update
from scheduling.services.floor import climate_log, job_check_in, job_no_show
from scheduling.services.reminders import reminders_send_due
from shop.models import BodyPanel, Channel, ConsentPurpose, Customer, Job, JobState, Vehicle
from shop.refusals import Refused
from shop.services.customers import consent_set, customer_add
from shop.services.enquiries import enquiry_open
from shop.services.vehicles import vehicle_add

# What comes of the calls, in turn; most people who ask this shop also come.
_OUTCOMES = (
    ("book",) * 6
    + ("sent",)
    + ("book",) * 5
    + ("declined", "cancel", "open", "enquiry", "accepted")
)
_FRONT = ("hood", "front_bumper", "front_left_fender", "front_right_fender", "left_mirror",
          "right_mirror", "grille_trim")  # fmt: skip


class Scenario:
    """Puts every call, climate reading and round of messages into the play."""

    def __init__(self, demo: DemoShop, play: Play, rng: Random, today: date) -> None:
        self.demo, self.play, self.rng, self.today = demo, play, rng, today
        self.shop = demo.shop
        self.gauge = Gauge.objects.filter(shop=self.shop).first()
        self.no_shows_left = 1

    def write(self, first_day: date, calls: int) -> None:
        """Queue all calls and the clock's work from ``first_day`` to the end of the play."""
        callers = callers_invent(
            count=calls, rng=self.rng, today=self.today, script=self.demo.script
        )
        days = [d for d in _days(first_day, self.today) if d.weekday() < 6]
        for index, caller in enumerate(callers):
            day = days[index * len(days) // len(callers)]
            moment = self._local(day, time(8, 30)) + timedelta(minutes=self.rng.randrange(0, 500))
            outcome = _OUTCOMES[index % len(_OUTCOMES)]
            self.play.at(moment, self._call(caller, outcome))
        for day in _days(first_day, self.today):
            for hour in range(8, 21, 2):
                self.play.at(self._local(day, time(hour, 7)), self._clock)
            for hour in (8, 14):
                self.play.at(self._local(day, time(hour, 0)), self._climate)

    def drop_off_early(self, now: datetime) -> None:
        """Let the next customer bring the vehicle before its time, so that one is on site."""
        jobs = Job.objects.filter(shop=self.shop)
        coming = jobs.filter(state=JobState.BOOKED, arrives_at__gt=now).order_by("arrives_at")
        job = coming.first()
        if job is not None and not jobs.filter(state=JobState.ON_SITE).exists():
            job_check_in(job=job, member=self.demo.desk, now=now - timedelta(minutes=10))

    def _local(self, day: date, wall: time) -> datetime:
        return datetime.combine(day, wall, tzinfo=self.shop.tz)

    def _call(self, caller: Caller, outcome: str) -> Event:
        def happen(now: datetime) -> None:
            customer, vehicle = self._register(caller, now)
            if outcome == "enquiry":
                enquiry_open(
                    customer=customer,
                    vehicle=vehicle,
                    title="Asked about correction and coating",
                    member=self.demo.desk,
                    now=now,
                )
                return
            quote = self._quote(caller, customer, vehicle, now)
            self._decide(quote, outcome, now)

        return happen

    def _register(self, caller: Caller, now: datetime) -> tuple[Customer, Vehicle]:
        customer = customer_add(
            shop=self.shop, name=caller.name, phone=caller.phone, email=caller.email
        )
        for channel in (Channel.EMAIL, Channel.TEXT):
            granted = channel == Channel.EMAIL or caller.wants_texts
            for purpose in (ConsentPurpose.VISIT, ConsentPurpose.AFTERCARE):
                consent_set(
                    customer=customer,
                    channel=channel,
                    purpose=purpose,
                    granted=granted,
                    source="phone",
                    now=now,
                )
        vehicle = vehicle_add(
            customer=customer,
            description=caller.description,
            body=caller.body,
            colour=caller.colour,
            tone=caller.tone,
            first_used_on=caller.first_used_on,
            hardness=caller.hardness,
            storage=caller.storage,
            wash_habit=caller.wash_habit,
        )
        return customer, vehicle

    def _quote(self, caller: Caller, customer: Customer, vehicle: Vehicle, now: datetime) -> Quote:
        inspection = None
        if self.rng.random() < 0.85:
            panels = self._panels(caller.body)
            inspection = inspection_save(
                vehicle=vehicle,
                member=self.demo.desk,
                now=now,
                document=findings_invent(caller=caller, panels=panels, rng=self.rng),
                gauge=self.gauge,
                finished=True,
            )
        options = Options(
            coating=self.rng.choice((None, None, None, "lantern", "thicket")),
            add_ons=self.rng.choice(((), (), ("wheels",), ("glass",))),
        )
        return quote_make(
            shop=self.shop,
            member=self.demo.desk,
            customer=customer,
            vehicle=vehicle,
            goal={"cleared": self.rng.choice((0.5, 0.6, 0.7))},
            options=options,
            now=now,
            inspection=inspection,
        )

    def _panels(self, body: str) -> list[str]:
        """The whole vehicle, or its front alone, in walk order."""
        rows = BodyPanel.objects.filter(shop=self.shop, body=body).order_by("position")
        panels = list(rows.values_list("panel", flat=True))
        return [p for p in panels if p in _FRONT] if self.rng.random() < 0.5 else panels

    def _decide(self, quote: Quote, outcome: str, now: datetime) -> None:
        if outcome == "open":
            return
        quote_send(quote=quote, member=self.demo.desk, now=now)
        if outcome == "declined":
            later = now + timedelta(hours=26)
            self.play.at(later, lambda at: self._decline(quote, at))
        elif outcome == "accepted":
            quote_accept(quote=quote, member=self.demo.desk, now=now)
        elif outcome in ("book", "cancel"):
            self._book(quote, outcome, now)

    def _decline(self, quote: Quote, now: datetime) -> None:
        quote_decline(quote=quote, member=self.demo.desk, now=now, why="Chose to wait until spring")

    def _book(self, quote: Quote, outcome: str, now: datetime) -> None:
        wish = now + timedelta(days=self.rng.choice((0, 1, 1, 2)), hours=12)
        try:
            job = quote_book(quote=quote, member=self.demo.desk, now=now, earliest=wish)
        except Refused:
            return
        if outcome == "cancel":
            self.play.at(now + timedelta(hours=3), lambda at: self._cancel(job, at))
        elif self.no_shows_left and self.play.rng.random() < 0.1 and job.arrives_at:
            self.no_shows_left -= 1
            self.play.at(job.arrives_at + timedelta(hours=3), lambda at: self._no_show(job, at))
        else:
            self.play.expect(job)

    def _cancel(self, job: Job, now: datetime) -> None:
        job.refresh_from_db()
        if job.state == JobState.BOOKED:
            booking_cancel(job=job, member=self.demo.desk, now=now, why="Vehicle was sold")

    def _no_show(self, job: Job, now: datetime) -> None:
        job.refresh_from_db()
        job_no_show(job=job, member=self.demo.desk, now=now)

    def _clock(self, now: datetime) -> None:
        cures_update(now=now)
        reminders_send_due(now=now)

    def _climate(self, now: datetime) -> None:
        for bay in Resource.objects.filter(shop=self.shop, kind=ResourceKind.BAY):
            air = round(self.rng.gauss(19.5, 1.2), 1)
            climate_log(
                resource=bay,
                at=now,
                air_c=air,
                humidity_percent=round(self.rng.gauss(52, 6), 0),
                surface_c=round(air - 0.8, 1),
            )


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]
