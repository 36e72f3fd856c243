"""A year of messages in seconds: a fake clock against the services, three zones at once.

Each day has a visit: booked, some moved, arrived, ready and handed over through the services
that write messages. The clock jumps from one due minute to the next; between them a round
finds nothing, as the rounds of every minute would. Some tries fail, some senders die.
What is checked is worked out here from the local date and hour alone.
"""

from __future__ import annotations

import random
import time as stopwatch
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from unittest import mock
from zoneinfo import ZoneInfo

from scheduling.models import Reminder, ReminderPurpose, ReminderState
from scheduling.notify import CARRIERS, Message, NotifyError
from scheduling.services.reminder_rows import (
    aftercare_reminders_write,
    booking_reminders_move,
    booking_reminders_write,
    ready_reminder_write,
)
from scheduling.services.reminders import reminders_send_due
from shop.models import Job, JobEvent, JobState
from tests import factories
from tests.stress.report import StressReport

START = datetime(2026, 1, 5, 15, 0, tzinfo=UTC)
SHOP_ZONE = "America/Chicago"
ZONES = ("", "America/New_York", "Europe/Berlin")
"""Of the customers; Chicago and New York change their clocks on 8 March and 1 November 2026,
Berlin on 29 March and 25 October (IANA time zone database)."""
CHANGES = (
    datetime(2026, 3, 8).date(),  # noqa: DTZ001 -- a day of the local calendar
    datetime(2026, 11, 1).date(),  # noqa: DTZ001
)
QUIET_FROM, QUIET_UNTIL = time(21), time(8)
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SEED = 7
_MOST_CPU_SECONDS = 240


class Killed(BaseException):
    """A sender's process ends here."""


@dataclass
class Year:
    """The fake clock, what went out when, and what is to happen when."""

    now: datetime = START
    sent: list[tuple[Reminder, datetime]] = field(default_factory=list)
    """Each with the row, its job and customer as they were in that moment."""
    steps: list[tuple[datetime, int, str]] = field(default_factory=list)
    rng: random.Random = field(default_factory=lambda: random.Random(SEED))  # noqa: S311
    refused: int = 0
    killed: int = 0

    def carry(self, message: Message) -> None:
        """Take a message; now and then refuse it, or let the sender die after it went out."""
        chance = self.rng.random()
        if chance < 0.05:
            self.refused += 1
            raise NotifyError("busy", permanent=False)
        row = Reminder.objects.select_related("job", "customer").get(key=message.key)
        self.sent.append((row, self.now))
        if chance > 0.99:
            self.killed += 1
            raise Killed

    def round(self) -> None:
        """Send what is due; a sender that dies is followed by the next."""
        while True:
            try:
                reminders_send_due(now=self.now, limit=10_000)
            except Killed:
                continue
            return


def run(report: StressReport, short: bool) -> bool:
    """Play the year; return whether every message was right."""
    year = Year()
    started = stopwatch.process_time()
    jobs = _visits(year, days=364, every=16 if short else 1)
    rounds = 0
    with mock.patch.dict(CARRIERS, {"mailbox": year.carry}):
        end = START + 366 * DAY
        while (following := _following(year, end)) < end:
            year.now = following
            while year.steps and year.steps[0][0] <= year.now:
                _at, pk, what = year.steps.pop(0)
                _happen(jobs[pk], what, year.now)
            year.round()
            rounds += 1
        year.now = end
        year.round()
    seconds = stopwatch.process_time() - started
    report.note(f"{len(jobs)} visits, {rounds} rounds, {len(year.sent)} messages: a year")
    report.figure(
        "processor time for a year",
        f"{seconds:.0f} s",
        f"under {_MOST_CPU_SECONDS} s",
        ok=seconds < _MOST_CPU_SECONDS,
    )
    return _judge(report, year)


def _visits(year: Year, *, days: int, every: int) -> dict[int, Job]:
    """Make the jobs and what happens to each; one in five is moved the day before it comes."""
    shop = factories.ShopFactory(zone=SHOP_ZONE, quiet_from=QUIET_FROM, quiet_until=QUIET_UNTIL)
    jobs: dict[int, Job] = {}
    near = [(day - START.date()).days - 2 + k for day in CHANGES for k in (0, 1)]
    for day in sorted({*range(0, days, every), *near}):
        arrives = START + (day + 2) * DAY + year.rng.choice((-2, 0, 3)) * HOUR
        job = factories.JobFactory(shop=shop, state=JobState.QUOTED)
        job.customer.zone = ZONES[len(jobs) % len(ZONES)]
        job.customer.save()
        for purpose in ("visit", "aftercare"):
            factories.ConsentFactory(customer=job.customer, purpose=purpose)
        jobs[job.pk] = job
        booked = arrives - year.rng.choice((20, 200, 30)) * HOUR
        plan = [(max(booked, START), f"book {arrives.isoformat()}")]
        if len(jobs) % 5 == 0:
            later = arrives + DAY
            plan.append((arrives - 20 * HOUR, f"move {later.isoformat()}"))
            arrives = later
        plan += [
            (arrives, "arrive"),
            (arrives + 26 * HOUR, "ready"),
            (arrives + 28 * HOUR + year.rng.randrange(600) * MINUTE, "hand over"),
        ]
        year.steps += [(at, job.pk, what) for at, what in plan if at >= START]
    year.steps.sort(key=lambda step: step[0])
    return jobs


def _following(year: Year, end: datetime) -> datetime:
    """The next full minute in which something happens or a message is due."""
    due = Reminder.objects.filter(state=ReminderState.DUE).order_by("due_at")
    first = due.values_list("due_at", flat=True).first()
    claims = Reminder.objects.filter(state=ReminderState.CLAIMED).order_by("claimed_at")
    claimed = claims.values_list("claimed_at", flat=True).first()
    times = [end]
    times += [first] if first else []
    times += [year.steps[0][0]] if year.steps else []
    times += [claimed + 31 * MINUTE] if claimed else []
    at = max(min(times), year.now + MINUTE)
    rest = at - at.replace(second=0, microsecond=0)
    return at - rest + (MINUTE if rest else timedelta(0))


def _happen(job: Job, what: str, now: datetime) -> None:
    """Let one thing happen to a job, and write the messages that it causes."""
    word, _, at = what.partition(" ")
    event = JobEvent.objects.create(job=job, kind=word, at=now)
    if word in ("book", "move"):
        job.arrives_at = datetime.fromisoformat(at)
        job.ready_at = job.arrives_at + 26 * HOUR
        job.promised_at = job.arrives_at + 28 * HOUR
        job.promise_probability = Decimal("0.9")
        job.state = JobState.BOOKED
        job.save()
        write = booking_reminders_write if word == "book" else booking_reminders_move
        write(job=job, event=event, now=now)
        return
    job.state = {
        "arrive": JobState.IN_WORK,
        "ready": JobState.READY,
        "hand": JobState.HANDED_OVER,
    }[word]
    job.save()
    if word == "ready":
        ready_reminder_write(job=job, event=event, now=now)
    if word == "hand":
        aftercare_reminders_write(job=job, event=event, wash_from=now + 7 * DAY, now=now)


def _judge(report: StressReport, year: Year) -> bool:
    rows = list(Reminder.objects.all())
    times = Counter(row.key for row, _at in year.sent)
    local = [(row, at.astimezone(_zone(row)), at) for row, at in year.sent]
    at_night = [row for row, clock, _at in local if _is_night(clock)]
    late = [row for row, _clock, at in local if _too_late(row, at)]
    states = Counter(row.state for row in rows)
    past = [r for r in rows if r.state == ReminderState.DUE and r.due_at <= year.now]
    changes = {day: sum(clock.date() == day for _row, clock, _at in local) for day in CHANGES}
    report.note(f"rows at the end: {dict(states)}; {year.refused} tries were refused")
    both = all(changes.values())
    demands = [
        report.figure("messages sent", len(year.sent), "50 or more", ok=len(year.sent) >= 50),
        report.figure("on the days of change", list(changes.values()), "1 or more each", ok=both),
        report.equal("sent more than once", sum(n > 1 for n in times.values()), 0),
        report.equal("sent in the reader's night (21:00 to 08:00)", len(at_night), 0),
        report.equal("of a visit, sent after the drop-off or not the day before", len(late), 0),
        report.equal("unknown: senders that died", states["unknown"], year.killed),
        report.equal("sent and noted", states["sent"], len(year.sent) - year.killed),
        report.equal("left claimed", states["claimed"], 0),
        report.equal("due, and its time past", len(past), 0),
    ]
    return all(demands)


def _zone(row: Reminder) -> ZoneInfo:
    assert row.customer is not None
    return ZoneInfo(row.customer.zone or SHOP_ZONE)


def _is_night(clock: datetime) -> bool:
    return clock.time() >= QUIET_FROM or clock.time() < QUIET_UNTIL


def _too_late(row: Reminder, at: datetime) -> bool:
    """Whether a message about a visit came when the visit had begun, or on the wrong day."""
    if row.purpose not in ("confirm", "day_before", "drop_off"):
        return False
    assert row.job is not None
    assert row.job.arrives_at is not None
    shop = ZoneInfo(SHOP_ZONE)
    arrives = row.job.arrives_at
    days = (arrives.astimezone(shop).date() - at.astimezone(shop).date()).days
    return at >= arrives or (row.purpose == ReminderPurpose.DAY_BEFORE and days != 1)
