"""``manage.py demo``: the invented shop, three weeks of work and one job told in full."""

from __future__ import annotations

import secrets
from datetime import datetime, time, timedelta
from random import Random
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from scheduling.demo.play import Play
from scheduling.demo.scenario import Scenario
from scheduling.demo.setting_up import DemoShop, demo_shop_set_up
from scheduling.demo.walkthrough import Walkthrough
from scheduling.models import Hold, Reminder
from shop.models import Job, JobState
from shop.refusals import Refused

DAYS_BACK = 15
CALLS = 50


class Command(BaseCommand):
    """Makes the invented shop anew and prints its main job."""

    help = "Load the invented shop with three weeks of work and print one whole job."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add the seed (the same seed gives the same callers) and how many call."""
        parser.add_argument("--calls", type=int, default=CALLS)
        parser.add_argument("--seed", type=int, default=7)

    def handle(self, *args: Any, **options: Any) -> None:
        """Set up, play, tell."""
        now = timezone.now()
        password = secrets.token_urlsafe(9)
        try:
            self._make(now, password, options["seed"], options["calls"])
        except Refused as refusal:
            raise CommandError(str(refusal), returncode=2) from refusal
        self._tell_sign_in(password)

    @transaction.atomic
    def _make(self, now: datetime, password: str, seed: int, calls: int) -> None:
        first = now.date() - timedelta(days=DAYS_BACK)
        demo = demo_shop_set_up(today=now.date(), first_day=first, password=password)
        play = Play(until=now, desk=demo.desk, rng=Random(seed))  # noqa: S311 -- an invented shop keeps no secret
        today = timezone.localtime(now, demo.shop.tz).date()
        scenario = Scenario(demo, play, play.rng, today)
        scenario.write(first, calls)
        walk = Walkthrough(demo, play, self.stdout.write)
        self.stdout.write(f"{demo.shop} (invented), {len(demo.script['people'])} people")
        # On the first day the shop is empty, so this vehicle's whole stay lies in the past.
        play.at(datetime.combine(first, time(8, 15), tzinfo=demo.shop.tz), walk.call)
        play.run(self._progress)
        scenario.drop_off_early(now)
        walk.tell_the_end(now)
        self._tell_book(demo)

    def _progress(self, moment: datetime) -> None:
        """Say on a terminal which day is being played; a file gets no such line."""
        if self.stderr.isatty():
            self.stderr.write(f"\r   playing {moment:%a %d %b} ", ending="")
            self.stderr.flush()

    def _tell_book(self, demo: DemoShop) -> None:
        jobs = Job.objects.filter(shop=demo.shop)
        states = [(state.label.lower(), jobs.filter(state=state).count()) for state in JobState]
        self.stdout.write("")
        self.stdout.write(
            f"9. The book: {jobs.count()} jobs ("
            + ", ".join(f"{count} {label}" for label, count in states if count)
            + f"), {Hold.objects.filter(shop=demo.shop).count()} holds, "
            f"{Reminder.objects.filter(shop=demo.shop).count()} messages"
        )

    def _tell_sign_in(self, password: str) -> None:
        self.stdout.write("")
        self.stdout.write("Sign in as owner, desk or tamsin (a technician); the password")
        self.stdout.write(f"of all three is {password} and is made anew by each demo.")
