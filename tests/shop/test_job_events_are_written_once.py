"""The story of a job cannot be rewritten, not even below the code; it goes with its job."""

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction
from django.db.models.signals import post_migrate, pre_migrate

from shop.models import Job, JobEvent
from shop.services.job_state import job_note
from tests.factories import NOW, JobFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def event():
    return job_note(job=JobFactory(), kind="call", now=NOW, member=None, why="will be late")


@pytest.mark.parametrize("change", [{"why": "never called"}, {"at": NOW.replace(hour=3)}])
def test_an_event_is_not_changed(event, change):
    with pytest.raises(IntegrityError, match="job_event_is_written_once"), transaction.atomic():
        JobEvent.objects.filter(pk=event.pk).update(**change)
    event.refresh_from_db()
    assert (event.why, event.at) == ("will be late", NOW)


@transaction.atomic
def removed_at_the_end(event):
    JobEvent.objects.filter(pk=event.pk).delete()
    connection.check_constraints()


def test_an_event_is_not_removed_alone(event):
    if connection.vendor == "postgresql":
        with pytest.raises(IntegrityError, match="written_once"):
            removed_at_the_end(event)
    else:
        JobEvent.objects.filter(pk=event.pk).delete()
    assert JobEvent.objects.filter(pk=event.pk).exists()


def test_it_goes_with_its_job(event):
    other = job_note(job=JobFactory(), kind="call", now=NOW, member=None)
    event.job.delete()
    connection.check_constraints()
    assert JobEvent.objects.get() == other
    assert Job.objects.get() == other.job


def test_below_the_code(event):
    wrong = pytest.raises(IntegrityError)
    with wrong, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE shop_jobevent SET why = 'nothing happened'")


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL changes tables in place")
def test_triggers_make_way_for_migrations_and_come_back():
    def names():
        with connection.cursor() as cursor:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY 1")
            return [name for (name,) in cursor.fetchall()]

    before = names()
    config = apps.get_app_config("shop")
    pre_migrate.send(config, app_config=config, using="default", plan=[])
    assert names() == before
    pre_migrate.send(config, app_config=config, using="default", plan=["something"])
    assert names() == []
    for one in apps.get_app_configs():
        post_migrate.send(
            one, app_config=one, using="default", verbosity=0, interactive=False, apps=apps
        )
    assert names() == before
