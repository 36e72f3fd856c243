"""A bay's climate is judged by the coating quoted for the vehicle there, not by a rule alone."""

from datetime import timedelta

import pytest

from scheduling.selectors import floor_today
from scheduling.services.bookings import booking_make
from scheduling.services.floor import climate_log, job_check_in
from tests.factories import NOW, ClimateReadingFactory, QuoteFactory
from tests.scheduling.shops import coat, quoted_job, small_shop

pytestmark = pytest.mark.django_db

ROW = {
    "code": "lantern",
    "name": "Lantern two-layer",
    "least_c": 15.0,
    "most_c": 25.0,
    "most_humidity": 0.6,
    "dew_margin_c": 6.0,
}


@pytest.fixture
def small():
    return small_shop()


def coated(small, row=ROW):
    """A vehicle in the coating bay since an hour, with a quote for its coating."""
    job = quoted_job(small, coat(240), agree=False)
    QuoteFactory(
        shop=small.shop,
        vehicle=job.vehicle,
        job=job,
        request={"options": {"coating": "lantern"}},
        parameters={"catalogue": {"coating_systems": [row]}},
    )
    booking_make(job=job, member=small.owner, now=NOW)
    job_check_in(job=job, member=small.tech, now=NOW)
    return job


def log(small, **climate):
    given = {"air_c": 20.0, "humidity_percent": 50.0, "surface_c": 20.0, **climate}
    return climate_log(resource=small.coating, at=NOW + timedelta(minutes=30), **given)


@pytest.mark.parametrize(
    ("climate", "word"),
    [
        ({"air_c": 26.0}, "air 26 °C is above the product's 25 °C"),
        ({"surface_c": 14.5}, "surface 14.5 °C is below the product's 15 °C"),
        ({"humidity_percent": 61.0}, "humidity 61 % is above the product's 60 %"),
        # 20 °C and 60 %: dew point 12.0 °C; the rule of 3 °C would allow 17 °C.
        ({"humidity_percent": 60.0, "surface_c": 17.0}, "at least 6 °C above"),
    ],
)
def test_each_limit_of_the_product(small, climate, word):
    coated(small)
    logged = log(small, **climate)
    assert not logged.verdict.allowed
    assert word in " ".join(logged.warnings)
    assert logged.warnings[0].startswith("Lantern two-layer: ")


def test_the_limits_themselves_are_allowed(small):
    coated(small)
    assert log(small, air_c=25.0, surface_c=25.0, humidity_percent=50.0).verdict.allowed


def test_without_a_coating_the_rule_holds(small):
    assert log(small, air_c=26.0, humidity_percent=61.0, surface_c=24.0).verdict.allowed


def test_what_a_snapshot_does_not_say_is_the_rule(small):
    coated(small, {"code": "lantern", "name": "Old row"})
    assert log(small, air_c=26.0, humidity_percent=61.0, surface_c=24.0).verdict.allowed
    assert not log_later(small, humidity_percent=86.0).verdict.allowed


def log_later(small, **climate):
    given = {"air_c": 20.0, "humidity_percent": 50.0, "surface_c": 20.0, **climate}
    return climate_log(resource=small.coating, at=NOW + timedelta(minutes=40), **given)


def test_the_floor_judges_by_the_vehicle_in_the_bay(small):
    ClimateReadingFactory(
        shop=small.shop, resource=small.coating, at=NOW, air_c=26.0, surface_c=26.0,
        humidity_percent=50.0,
    )  # fmt: skip
    now = NOW + timedelta(minutes=5)
    assert card_of(small, now).climate.verdict.allowed
    coated(small)
    climate = card_of(small, now).climate
    assert not climate.verdict.allowed
    assert climate.product == "Lantern two-layer"


def card_of(small, now):
    cards = floor_today(small.shop, now).bays
    return next(card for card in cards if card.resource == small.coating)
