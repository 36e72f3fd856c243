"""The calendar draws what is booked, says it in words too, and leads to other days."""

from datetime import timedelta

from django.urls import reverse

from shop.models import Operation
from tests import factories as make
from tests.factories import NOW

ADDRESS = reverse("calendar")


def test_a_vehicle_is_one_link_with_a_name_that_says_it_all(world, desk, text) -> None:
    job = world.booked()
    seen = text(desk.get(ADDRESS))
    name = f'aria-label="{job.number}, pickup, crew cab, dark blue, booked: 2 Mar 2026 9:00 to'
    assert seen.count(name) == 1
    # Wash and correction are two bays: two pieces of one ribbon, each with its pattern.
    ribbon = seen[seen.index(name) :].split("</a>")[0]
    assert ribbon.count('class="piece"') == 2
    assert 'fill="url(#pat-wash)"' in ribbon
    assert 'fill="url(#pat-correction)"' in ribbon


def test_the_list_says_the_same_by_day(world, desk, text) -> None:
    job = world.booked()
    seen = text(desk.get(ADDRESS))
    listed = seen[seen.index('id="agenda"') :]
    assert "Drop-off" in listed
    assert f"{job.customer.name}" in listed
    assert "Prep wash" in listed
    assert "Pick-up promised" in listed


def test_a_day_is_shown_alone_and_leads_to_the_week(world, desk, text) -> None:
    job = world.booked(days=1)
    assert job.number not in text(desk.get(ADDRESS, {"view": "day"}))
    next_day = desk.get(ADDRESS, {"view": "day", "day": "2026-03-03"})
    assert job.number in text(next_day)
    assert "?view=week&amp;day=2026-03-03" in text(next_day)
    assert "?view=day&amp;day=2026-03-04" in text(next_day)


def test_what_is_no_day_is_said_and_today_is_shown(world, desk, text) -> None:
    for wrong in ("tomorrow", "2026-02-30", "9999-12-31"):
        seen = text(desk.get(ADDRESS, {"day": wrong}))
        assert f"“{wrong}” is no day; write one such as 2026-03-02." in seen
        assert "Mon 2 Mar – Sun 8 Mar 2026" in seen


def test_an_empty_week_says_what_comes_here_and_where_to_begin(world, desk, tech, text) -> None:
    assert "Nothing is booked" in text(desk.get(ADDRESS))
    assert "Open the quote desk" in text(desk.get(ADDRESS))
    # The desk is not a technician's screen, so they are not sent there.
    assert "Open the quote desk" not in text(tech.get(ADDRESS))


def test_a_closed_day_says_why(world, desk, text) -> None:
    make.ClosureFactory(shop=world.small.shop, first_day=NOW.date(), last_day=NOW.date())
    assert "Closed: Stocktaking" in text(desk.get(ADDRESS))


def test_a_broken_promise_is_trouble_and_a_kept_one_is_not(world, desk, text) -> None:
    job = world.booked()
    assert "Nothing at risk" in text(desk.get(ADDRESS))
    job.promised_at = job.ready_at - timedelta(minutes=1)
    job.save(update_fields=["promised_at"])
    assert f'× Late against the promise:</span> <a href="/jobs/{job.pk}/">' in text(
        desk.get(ADDRESS)
    )


def test_a_vehicle_that_has_not_come_is_trouble(world, desk, text) -> None:
    job = world.booked()
    world.clock.shift(timedelta(minutes=14))
    assert "Not here yet" not in text(desk.get(ADDRESS))
    world.clock.shift(timedelta(minutes=1))
    assert "! Not here yet:" in text(desk.get(ADDRESS))
    world.here(job)
    assert "Not here yet" not in text(desk.get(ADDRESS))


def test_work_that_runs_over_names_who_comes_next(world, desk, text) -> None:
    first, second = world.here(world.booked()), world.booked()
    wash = first.operations.first()
    Operation.objects.filter(pk=wash.pk).update(state="running", started_at=NOW)
    world.clock.move_to(wash.planned_end + timedelta(minutes=16))
    seen = text(desk.get(ADDRESS))
    assert "! Work runs over:" in seen
    assert f"Prep wash, Wash bay: planned to end today 9:30; {second.number} comes next" in seen


def test_wrong_climate_is_trouble_only_where_a_coat_is_near(world, desk, text) -> None:
    wet = {"air_c": 20.0, "humidity_percent": 95.0, "at": NOW}
    make.ClimateReadingFactory(resource=world.small.coating, **wet)
    assert "Climate is wrong" not in text(desk.get(ADDRESS))
    world.booked(coated=True)
    seen = text(desk.get(ADDRESS))
    assert "Climate is wrong for coating" in seen
    assert "Coating bay: humidity 95 % is above" in seen
