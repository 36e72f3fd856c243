"""Time under a lamp is recorded on the floor, and the cure ends sooner for it."""

import math

import pytest
import time_machine
from django.urls import reverse

from scheduling.models import CalendarPolicy, LampRun
from scheduling.services.cures import cure_forecast, cures_update
from scheduling.services.floor import climate_log
from scheduling.services.lamps import lamp_off, lamp_on
from shop.refusals import Conflict, Refused
from tests.factories import NOW
from tests.scheduling.floor.test_cure_forecast import HOUR, curing

pytestmark = pytest.mark.django_db

# 12 hours at 20 °C with a factor of 2 for ten degrees: at 50 °C an hour is worth eight.


def lit(small, cure, start, hours, **more):
    who = {"operation": cure.operation, "member": small.tech}
    lamp_on(now=start, **who, **more)
    lamp_off(now=start + hours * HOUR, **who)


def test_an_hour_under_the_lamp_is_worth_eight():
    small, cure = curing()
    lit(small, cure, NOW + HOUR, 1)
    cure.refresh_from_db()
    # One hour plain, one worth eight, three of the twelve left: five after the start.
    assert cure.forecast_handover_at == NOW + 5 * HOUR


def test_a_lamp_that_is_on_counts_until_now_and_not_ahead():
    small, cure = curing()
    lamp_on(operation=cure.operation, member=small.tech, now=NOW)
    forecast = cure_forecast(cure, NOW + HOUR)
    assert forecast.progress == pytest.approx(8 / 12)
    assert forecast.handover_at == NOW + 5 * HOUR


@pytest.mark.parametrize(("panel_c", "worth"), [(30.0, 2), (40.0, 4)])
def test_the_panel_measured_under_the_lamp_counts(panel_c, worth):
    small, cure = curing()
    lit(small, cure, NOW, 1, panel_c=panel_c)
    assert cure_forecast(cure, NOW + HOUR).progress == pytest.approx(worth / 12)


def test_the_shops_own_assumption_counts():
    small, cure = curing()
    CalendarPolicy.objects.create(shop=small.shop, lamp_panel_c=40.0)
    lit(small, cure, NOW, 1)
    assert cure_forecast(cure, NOW + HOUR).progress == pytest.approx(4 / 12)


# From 50 straight to 40 °C in half an hour the speed is 8 (1 - 1/2) / ln 2 on average, then 4.
@pytest.mark.parametrize(
    ("surface_c", "worth"), [(40.0, 0.5 * 4 / math.log(2) + 0.5 * 4), (None, 8)]
)
def test_a_reading_under_the_lamp_counts_only_of_the_panel(surface_c, worth):
    small, cure = curing()
    who = {"operation": cure.operation, "member": small.tech}
    lamp_on(now=NOW, **who)
    climate_log(
        resource=small.coating,
        at=NOW + HOUR / 2,
        air_c=10.0,
        humidity_percent=50.0,
        surface_c=surface_c,
    )
    got = cure_forecast(cure, NOW + HOUR).progress * 12
    assert got == pytest.approx(worth, rel=1e-4)


def test_the_cure_ends_and_so_does_the_lamp():
    small, cure = curing()
    lamp_on(operation=cure.operation, member=small.tech, now=NOW)
    assert cures_update(now=NOW + 2 * HOUR) == 1
    assert LampRun.objects.get().ended_at == NOW + 2 * HOUR
    with pytest.raises(Refused, match="not curing"):
        lamp_on(operation=cure.operation, member=small.tech, now=NOW + 2 * HOUR)


def test_what_is_refused():
    small, cure = curing()
    who = {"operation": cure.operation, "member": small.tech}
    with pytest.raises(Refused, match="No lamp"):
        lamp_off(now=NOW, **who)
    with pytest.raises(Refused) as refused:
        lamp_on(now=NOW, panel_c=float("nan"), **who)
    assert list(refused.value.by_field()) == ["panel_c"]
    lamp_on(now=NOW, **who)
    with pytest.raises(Conflict, match="already"):
        lamp_on(now=NOW, **who)


def test_a_lamp_is_tapped_on_the_floor(client):
    small, cure = curing()
    client.force_login(small.tech.user)
    with time_machine.travel(NOW + HOUR, tick=False):
        assert "Lamp on" in client.get(reverse("floor")).content.decode()
        for step in ("lamp-on", "lamp-off"):
            answer = client.post(reverse("floor_work", args=[cure.operation_id, step]))
            assert answer.status_code == 302
    assert LampRun.objects.get().ended_at is not None
