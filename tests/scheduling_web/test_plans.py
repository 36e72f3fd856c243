"""Improve and mend on the calendar: who may, what is watched, and that a person decides."""

from datetime import timedelta

import pytest
from django.urls import reverse

from scheduling import launch
from scheduling.models import Absence, Hold, PlanRun, PlanRunState
from scheduling.services.planruns import planrun_work
from tests.factories import NOW
from tests.scheduling.shops import correction

ASK = reverse("plan_ask")
CALENDAR = reverse("calendar")
DAY = timedelta(days=1)


@pytest.fixture
def launched(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Runs that were to be started in a process of their own."""
    started: list[int] = []
    monkeypatch.setattr(launch, "launch", started.append)
    return started


def ask(client, capture, kind="mend", **more):
    with capture(execute=True):
        return client.post(ASK, {"kind": kind, "seconds": "5", **more})


def proposal(world, client, capture) -> PlanRun:
    """A search after an absence, done."""
    ask(client, capture)
    run = PlanRun.objects.get(ended_at=None)
    planrun_work(run_id=run.pk, clock=lambda: NOW)
    run.refresh_from_db()
    assert run.state == PlanRunState.DONE
    return run


def away(world) -> None:
    Absence.objects.create(resource=world.small.crew, start=NOW, end=NOW + DAY)


def test_asked_watched_and_stopped(
    world, owner, text, launched, django_capture_on_commit_callbacks
) -> None:
    world.booked()
    answer = ask(owner, django_capture_on_commit_callbacks, kind="improve")
    run = PlanRun.objects.get()
    assert launched == [run.pk]
    assert answer.url == reverse("plan", args=[run.pk])
    page = text(owner.get(answer.url))
    assert 'hx-trigger="every 1s"' in page
    # Without a script a plain link does the same.
    assert f'href="{answer.url}">Look again' in page
    assert "<html" not in text(owner.get(answer.url, headers={"HX-Request": "true"}))
    again = ask(owner, django_capture_on_commit_callbacks)
    assert again.url == answer.url
    assert "going on already" in text(owner.get(CALENDAR))
    owner.post(reverse("plan_stop", args=[run.pk]))
    assert "Nothing was found until then" in text(owner.get(answer.url))
    assert 'hx-trigger="every 1s"' not in text(owner.get(answer.url))


def test_mended_and_accepted(
    world, desk, text, launched, django_capture_on_commit_callbacks
) -> None:
    job = world.booked(correction(120))
    away(world)
    assert "× Cannot be done as planned:" in text(desk.get(CALENDAR))
    run = proposal(world, desk, django_capture_on_commit_callbacks)
    before = Hold.objects.get(job=job, resource=world.small.crew).start
    page = text(desk.get(reverse("plan", args=[run.pk])))
    assert "Nobody else moves" in page
    assert "Proven: no better plan leaves the others where they are." in page
    assert "later</span>" in page
    assert Hold.objects.get(job=job, resource=world.small.crew).start == before
    answer = desk.post(
        reverse("plan_accept", args=[run.pk]), {"answer": "nobody", "chosen": f"j{job.pk}"}
    )
    assert answer.url == CALENDAR
    assert Hold.objects.get(job=job, resource=world.small.crew).start >= NOW + DAY
    page = text(desk.get(CALENDAR))
    assert "1 vehicle moved." in page
    assert "Cannot be done as planned" not in page


def test_nothing_ticked_or_stale_is_said_in_place(
    world, desk, text, launched, django_capture_on_commit_callbacks
) -> None:
    job = world.booked(correction(120))
    away(world)
    run = proposal(world, desk, django_capture_on_commit_callbacks)
    accept = reverse("plan_accept", args=[run.pk])
    answer = desk.post(accept, {"answer": "nobody"})
    assert answer.status_code == 400
    assert "Choose at least one vehicle" in text(answer)
    world.here(job)
    answer = desk.post(accept, {"answer": "nobody", "chosen": f"j{job.pk}"})
    assert answer.status_code == 409
    assert f"{job.number} was changed since this was worked out" in text(answer)


def test_left_as_it_is(world, owner, text, launched, django_capture_on_commit_callbacks) -> None:
    job = world.booked(correction(120))
    away(world)
    run = proposal(world, owner, django_capture_on_commit_callbacks)
    held = list(Hold.objects.filter(job=job).values_list("pk", flat=True))
    owner.post(reverse("plan_leave", args=[run.pk]))
    assert list(Hold.objects.filter(job=job).values_list("pk", flat=True)) == held
    page = text(owner.get(reverse("plan", args=[run.pk])))
    assert "Left as it was" in page
    assert "Move what is ticked" not in page


@pytest.mark.parametrize(
    ("who", "statuses"), [("owner", (302, 200)), ("desk", (302, 200)), ("tech", (403, 403))]
)
def test_owner_and_desk_may_and_a_technician_may_not(
    world, launched, who, statuses, django_capture_on_commit_callbacks
) -> None:
    world.booked()
    run = PlanRun.objects.create(
        shop=world.small.shop,
        kind="improve",
        member=world.small.owner,
        asked_at=NOW,
        as_of=NOW,
        heard_at=NOW,
        most_seconds=5,
        state=PlanRunState.DONE,
        ended_at=NOW,
        proposal={"answers": []},
    )
    client = world.client(who)
    assert ask(client, django_capture_on_commit_callbacks).status_code == statuses[0]
    assert client.get(reverse("plan", args=[run.pk])).status_code == statuses[1]
    shown = "Improve this week" in client.get(CALENDAR).content.decode()
    assert shown == (statuses[1] == 200)
    # Whatever the role, another shop's search is not there.
    for name in ("plan_stop", "plan_leave", "plan_accept"):
        address = reverse(name, args=[run.pk])
        assert world.client("outsider").post(address).status_code == 404
    assert world.client("outsider").get(reverse("plan", args=[run.pk])).status_code == 404


def test_the_page_reads_as_little_for_many_vehicles(
    world, owner, launched, django_assert_max_num_queries, django_capture_on_commit_callbacks
) -> None:
    for count in (1, 4):
        for _ in range(count):
            world.booked(correction(120))
        Absence.objects.all().delete()
        away(world)
        run = proposal(world, owner, django_capture_on_commit_callbacks)
        with django_assert_max_num_queries(6):
            owner.get(reverse("plan", args=[run.pk]))
        with django_assert_max_num_queries(12):
            owner.get(CALENDAR)
