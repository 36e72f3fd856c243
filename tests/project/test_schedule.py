"""Every periodic task of the settings exists and can wait in a queue that is worked off."""

import pytest
from django.conf import settings

from shop.celery import app


@pytest.fixture(autouse=True)
def _tasks_loaded() -> None:
    app.loader.import_default_modules()


@pytest.mark.parametrize("entry", sorted(settings.CELERY_BEAT_SCHEDULE))
def test_an_entry_names_a_task_that_exists(entry: str) -> None:
    assert settings.CELERY_BEAT_SCHEDULE[entry]["task"] in app.tasks


def test_every_task_goes_to_a_queue_that_a_worker_takes_from() -> None:
    ours = [name for name in app.tasks if not name.startswith("celery.")]
    assert ours
    for name in ours:
        assert app.amqp.router.route({}, name)["queue"].name in settings.TASK_QUEUES, name


def test_neither_a_search_nor_a_dead_mail_server_delays_a_text_message() -> None:
    def queue(task: str) -> str:
        name: str = app.amqp.router.route({}, task)["queue"].name
        return name

    assert queue("scheduling.send_text") == "text"
    assert queue("scheduling.send_email") == "email"
    assert queue("scheduling.plan_improve") == "solver"
    assert queue("scheduling.cures_update") == "clock"
