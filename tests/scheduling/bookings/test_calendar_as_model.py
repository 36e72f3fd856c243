"""Book, move, cancel, keep, let go, wait: the calendar against a dictionary of intervals."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from scheduling.models import Hold, KeptSlot
from scheduling.services.bookings import (
    SlotTaken,
    booking_cancel,
    booking_make,
    booking_move,
)
from scheduling.services.kept import slot_keep, slot_release
from scheduling.services.lapse import slots_lapse
from scheduling.services.offers import Offer, offers_find
from shop.models import Job
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop

MINUTE = timedelta(minutes=1)
Span = tuple[datetime, datetime]
PICK = st.integers(min_value=0, max_value=9)


class CalendarMachine(RuleBasedStateMachine):
    """One bay, one person; ``booked`` and ``kept`` say who should have which stretch of it.

    Every job is looked for once and booked from what was seen then, however old it is: what
    somebody else has by now must be refused, and what has lapsed must be free.
    """

    @initialize()
    def opens(self) -> None:
        self.small = small_shop()
        self.now = NOW
        self.seen: dict[int, list[Offer]] = {}
        self.jobs: dict[int, Job] = {}
        self.booked: dict[int, Span] = {}
        self.kept: dict[int, tuple[KeptSlot, Span]] = {}

    @rule(hours=st.sampled_from([2, 3]))
    def asks(self, hours: int) -> None:
        if len(self.jobs) < 8:
            job = quoted_job(self.small, correction(60 * hours), agree=False)
            self.jobs[job.pk] = job
        for pk, job in self.jobs.items():
            if pk not in self.booked and (pk not in self.seen or pk == max(self.jobs)):
                self.seen[pk] = self.look(job)

    def look(self, job: Job) -> list[Offer]:
        rows = list(job.operations.all())
        earliest = NOW + timedelta(days=1)
        return offers_find(
            shop=self.small.shop, operations=rows, now=self.now, earliest=earliest, count=2
        ).found

    def span(self, offer: Offer) -> Span:
        held = [one for one in offer.holds if one.resource.pk == self.small.correction.pk]
        return min(one.start for one in held), max(one.end for one in held)

    def free(self, offer: Offer, but: int = 0) -> bool:
        """Whether the dictionaries leave room for an offer."""
        start, end = self.span(offer)
        mine = [span for pk, span in self.booked.items() if pk != but]
        mine += [span for slot, span in self.kept.values() if slot.kept_until > self.now]
        return not any(a < end and start < b for a, b in mine)

    def waiting(self) -> list[int]:
        return [pk for pk in self.seen if pk not in self.booked and pk in self.jobs]

    @precondition(lambda self: self.waiting())
    @rule(which=PICK, number=st.integers(0, 1))
    def books(self, which: int, number: int) -> None:
        pk = self.waiting()[which % len(self.waiting())]
        offer = self.seen[pk][number % len(self.seen[pk])]
        job, slot = self.jobs[pk], self.kept.pop(pk, (None,))[0]
        told = self.does(self.free(offer), booking_make, job=job, offer=offer, kept=slot)
        if told:
            self.booked[pk] = self.span(offer)
        elif slot is not None and slot.kept_until > self.now:
            self.kept[pk] = (slot, self.spans_of(slot))

    def spans_of(self, slot: KeptSlot) -> Span:
        holds = slot.holds.filter(resource=self.small.correction)
        return holds.earliest("start").start, holds.latest("end").end

    def does(self, fits: bool, service: Any, **asked: Any) -> bool:
        """Call a service; where the dictionaries say it fits it must do it, else refuse."""
        asked |= {"member": self.small.desk, "now": self.now}
        if fits:
            service(**asked)
            return True
        with pytest.raises(SlotTaken) as told:
            service(**asked)
        assert told.value.taken
        assert told.value.offers
        return False

    @precondition(lambda self: self.booked and self.seen)
    @rule(which=PICK, other=PICK)
    def moves(self, which: int, other: int) -> None:
        pk = list(self.booked)[which % len(self.booked)]
        offer = self.seen[pk][other % len(self.seen[pk])]
        if self.does(self.free(offer, but=pk), booking_move, job=self.jobs[pk], offer=offer):
            self.booked[pk] = self.span(offer)

    @precondition(lambda self: self.booked)
    @rule(which=PICK)
    def cancels(self, which: int) -> None:
        pk = list(self.booked)[which % len(self.booked)]
        booking_cancel(job=self.jobs[pk], member=self.small.desk, now=self.now, why="asked for")
        del self.booked[pk], self.jobs[pk]

    @precondition(lambda self: self.waiting())
    @rule(which=PICK, number=st.integers(0, 1))
    def keeps(self, which: int, number: int) -> None:
        pk = self.waiting()[which % len(self.waiting())]
        if pk in self.kept:
            return
        job, offer = self.jobs[pk], self.seen[pk][number % len(self.seen[pk])]
        rows = list(job.operations.all())
        asked = {"shop": self.small.shop, "operations": rows, "offer": offer}
        if self.does(self.free(offer), slot_keep, **asked):
            self.kept[pk] = (KeptSlot.objects.latest("pk"), self.span(offer))

    @precondition(lambda self: self.kept)
    @rule(which=PICK)
    def lets_go(self, which: int) -> None:
        slot, _span = self.kept.pop(list(self.kept)[which % len(self.kept)])
        slot_release(slot=slot)

    @rule(minutes=st.sampled_from([1, 4, 10]), clock=st.booleans())
    def waits(self, minutes: int, clock: bool) -> None:
        self.now += minutes * MINUTE
        if clock:
            slots_lapse(now=self.now)
            assert not KeptSlot.objects.filter(kept_until__lte=self.now).exists()
        self.kept = {pk: one for pk, one in self.kept.items() if one[0].kept_until > self.now}

    @invariant()
    def the_bay_is_kept_for_just_those(self) -> None:
        if not hasattr(self, "small"):
            return
        holds = Hold.objects.filter(resource=self.small.correction)
        rows = holds.exclude(kept__kept_until__lte=self.now).order_by("start")
        found = sorted(rows.values_list("start", "end"))
        assert found == sorted([*self.booked.values(), *(span for _s, span in self.kept.values())])
        assert all(a[1] <= b[0] or b[1] <= a[0] for a, b in combinations(found, 2))


class TestCalendar(CalendarMachine.TestCase, TestCase):  # type: ignore[misc, valid-type]
    """Runs the machine, each example in a transaction of its own."""

    settings = settings(  # type: ignore[assignment]
        max_examples=8,
        stateful_step_count=12,
        deadline=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
