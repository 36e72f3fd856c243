"""Through a real Redis: a task waits in its queue as JSON, without a due time of its own."""

import base64
import json

import pytest
import redis
from celery import Celery
from django.conf import settings


@pytest.fixture
def sent(redis_database_url: str) -> dict[str, object]:
    """Send one task to the solver's queue and return the message as Redis holds it."""
    app = Celery("test", set_as_current=False)
    app.config_from_object("django.conf:settings", namespace="CELERY")
    app.conf.update(task_always_eager=False, broker_url=redis_database_url)
    app.send_task("rooms.plan", args=[7], queue="solver")
    app.close()
    with redis.Redis.from_url(redis_database_url) as client:
        assert client.llen("solver") == 1
        assert client.llen(settings.CELERY_TASK_DEFAULT_QUEUE) == 0
        message: dict[str, object] = json.loads(client.lindex("solver", 0))
    return message


def test_a_message_is_json_in_the_queue_it_was_sent_to(sent: dict[str, object]) -> None:
    assert sent["content-type"] == "application/json"
    arguments, _keywords, _embedded = json.loads(base64.b64decode(str(sent["body"])))
    assert arguments == [7]


def test_a_message_has_no_due_time(sent: dict[str, object]) -> None:
    headers = sent["headers"]
    assert isinstance(headers, dict)
    assert headers["eta"] is None


def test_a_slow_task_is_not_handed_out_twice() -> None:
    visible_again_seconds = settings.CELERY_BROKER_TRANSPORT_OPTIONS["visibility_timeout"]
    assert visible_again_seconds > settings.CELERY_TASK_TIME_LIMIT
    assert settings.CELERY_TASK_TIME_LIMIT > settings.CELERY_TASK_SOFT_TIME_LIMIT
