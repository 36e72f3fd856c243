"""How tasks are handed out: done again where a worker died, never twice because they are slow."""

import re
from pathlib import Path

import pytest
from celery.schedules import maybe_schedule
from django.conf import settings

from shop.celery import app

ROOT = Path(__file__).resolve().parents[2]
# A due time in the broker: it is lost with the broker, and given out twice where it lies
# longer than the visibility time-out. A due time is a row.
DUE_TIME = re.compile(
    r"\b(eta|countdown)\s*=|[\"'](eta|countdown)[\"']\s*:|\.retry\(|autoretry_for"
)


@pytest.fixture(autouse=True)
def _tasks_loaded() -> None:
    app.loader.import_default_modules()


def with_due_time(sources: dict[str, str]) -> list[str]:
    return [name for name, text in sources.items() if DUE_TIME.search(text)]


def test_no_task_carries_a_due_time() -> None:
    sources = {
        str(path.relative_to(ROOT)): path.read_text(encoding="utf-8")
        for room in ("shop", "estimating", "scheduling")
        for path in (ROOT / room).rglob("*.py")
    }
    assert len(sources) > 100
    assert with_due_time(sources) == []


@pytest.mark.parametrize(
    "call",
    [
        "send_email.apply_async(eta=later)",
        "send_email.apply_async(countdown = 90)",
        "task.apply_async(**{'eta': later})",
        "raise self.retry(exc=error)",
    ],
)
def test_the_scan_finds_one(call: str) -> None:
    assert with_due_time({"good": "delta = beta = theta", "bad": call}) == ["bad"]


def test_a_task_whose_worker_died_is_given_to_another() -> None:
    assert app.conf.task_acks_late
    assert app.conf.task_reject_on_worker_lost
    assert app.conf.worker_prefetch_multiplier == 1
    for name, task in app.tasks.items():
        assert name.startswith("celery.") or (task.acks_late and task.reject_on_worker_lost), name


def test_no_task_may_take_as_long_as_it_takes_to_be_given_out_again() -> None:
    visible_again_seconds = app.conf.broker_transport_options["visibility_timeout"]
    for name, task in app.tasks.items():
        soft = task.soft_time_limit or app.conf.task_soft_time_limit
        hard = task.time_limit or app.conf.task_time_limit
        assert 0 < soft < hard < visible_again_seconds, name


def test_our_own_tasks_say_their_own_limits() -> None:
    ours = [task for name, task in app.tasks.items() if not name.startswith("celery.")]
    assert len(ours) >= 5
    assert [task.name for task in ours if not (task.soft_time_limit and task.time_limit)] == []


def test_results_are_kept_nowhere() -> None:
    assert not app.conf.result_backend
    assert app.conf.task_ignore_result


def test_what_was_not_taken_up_does_not_pile_up() -> None:
    # A worker that comes back after an hour finds one round to do, not sixty.
    for entry in settings.CELERY_BEAT_SCHEDULE.values():
        if entry["task"].startswith("scheduling.send_"):
            interval = maybe_schedule(entry["schedule"]).run_every.total_seconds()
            assert 0 < entry["options"]["expires"] < interval
