"""Two weeks, overtime, absences, cures without an end and the windows of a next coat."""

from datetime import time, timedelta
from decimal import Decimal

from django.urls import reverse

from tests import factories as make
from tests.factories import NOW
from tests.scheduling.shops import coat, cure, wash

ADDRESS = reverse("calendar")


def test_two_weeks_are_shown_and_turned_by_two(world, desk, text) -> None:
    job = world.booked(days=9)
    assert job.number not in text(desk.get(ADDRESS))
    seen = text(desk.get(ADDRESS, {"view": "fortnight"}))
    assert "Mon 2 Mar – Sun 15 Mar 2026" in seen
    assert job.number in seen
    assert "?view=fortnight&amp;day=2026-03-16" in seen


def test_overtime_is_outlined_where_it_goes_beyond_the_shift(world, desk, text) -> None:
    drawn = 'class="there more"'
    picture = text(desk.get(ADDRESS)).split('class="cal-key"')[0]
    assert drawn not in picture
    make.OvertimeFactory(
        resource=world.small.crew, weekday=0, starts=time(16), ends=time(19), overtime_factor=2
    )
    bars = text(desk.get(ADDRESS)).split('class="cal-key"')[0].split(drawn)[1:]
    # The hour until five is worked anyway: two hours after closing, drawn at an eighth.
    assert len(bars) == 1
    assert 0 < float(bars[0].split('width="')[1].split("%")[0]) < 1


def test_a_bay_that_is_not_there_says_why(world, desk, text) -> None:
    make.AbsenceFactory(
        resource=world.small.coating,
        start=NOW,
        end=NOW + timedelta(days=2),
        reason="Floor is painted",
    )
    seen = text(desk.get(ADDRESS))
    assert "Coating bay is not there, 2 Mar 2026 9:00 to 4 Mar 2026 9:00: Floor is painted" in seen
    assert '<text class="gone-why" x="6" y="14">Floor is painted</text>' in seen


def test_a_closed_day_is_named_in_the_picture(world, desk, text) -> None:
    make.ClosureFactory(shop=world.small.shop, first_day=NOW.date(), last_day=NOW.date())
    assert 'y="36">Stocktaking</text>' in text(desk.get(ADDRESS))


def test_a_cure_is_open_and_the_next_coat_has_its_window(world, desk, text) -> None:
    second = coat(lag_min_minutes=60, lag_max_minutes=180)
    world.booked(wash(), coat(), second, cure())
    seen = text(desk.get(ADDRESS))
    ribbon = seen[seen.index('id="visit-') :].split("</a>")[0]
    assert ribbon.count('class="w planned open"') == 1
    assert ribbon.count('class="recoat"') == 1


def test_a_promise_that_is_not_sure_enough_is_marked_in_words(world, desk, text) -> None:
    job = world.booked()
    job.promise_probability = Decimal("0.9")
    job.save(update_fields=["promise_probability"])
    assert "Promise may not hold" not in text(desk.get(ADDRESS))
    job.promise_probability = Decimal("0.8899")
    job.save(update_fields=["promise_probability"])
    seen = text(desk.get(ADDRESS))
    assert "! Promise may not hold:" in seen
    assert "but only 88 % sure" in seen
    assert 'class="ribbon unsure free"' in seen
