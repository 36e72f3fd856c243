"""A reading is kept, judged by dew point, and refused where no bay can be like that."""

from datetime import datetime, timedelta

import pytest

from scheduling.models import ClimateReading
from scheduling.services.floor import climate_log
from shop.refusals import Conflict, Refused
from tests.factories import NOW
from tests.scheduling.shops import small_shop

pytestmark = pytest.mark.django_db


def log(small, **changes):
    given = {"at": NOW, "air_c": 20.0, "humidity_percent": 50.0, "surface_c": 19.0, **changes}
    return climate_log(resource=small.coating, **given)


def test_a_good_reading_has_no_warning():
    logged = log(small_shop())
    assert logged.verdict.allowed
    assert logged.warnings == ()
    assert ClimateReading.objects.get() == logged.reading


def test_a_panel_too_near_the_dew_point_is_warned_of():
    # 20 °C and 80 %: dew point 16.4 °C, so a panel at 18 °C is closer than the 3 °C of the rule.
    logged = log(small_shop(), humidity_percent=80.0, surface_c=18.0)
    assert not logged.verdict.allowed
    assert "above the dew point (16.4 °C)" in " ".join(logged.warnings)


def test_without_a_panel_temperature_it_is_said_that_the_air_stands_in():
    assert "No surface was measured" in log(small_shop(), surface_c=None).warnings[0]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("air_c", float("nan")),
        ("air_c", 61.0),
        ("humidity_percent", 0.0),
        ("humidity_percent", 100.1),
        ("surface_c", 151.0),
        ("at", datetime(2026, 3, 2, 9, 0)),  # noqa: DTZ001 -- a naive time is the bad input
    ],
)
def test_an_impossible_figure_is_refused_at_its_field(field, value):
    small = small_shop()
    with pytest.raises(Refused) as refused:
        log(small, **{field: value})
    assert list(refused.value.by_field()) == [field]
    assert not ClimateReading.objects.exists()


def test_a_second_reading_of_the_same_moment_is_a_conflict():
    small = small_shop()
    log(small)
    with pytest.raises(Conflict, match="has a reading of Mon 2 Mar 09:00 already"):
        log(small, air_c=21.0)
    log(small, at=NOW + timedelta(minutes=1))
    assert ClimateReading.objects.count() == 2


def test_a_parking_spot_has_no_climate():
    small = small_shop()
    with pytest.raises(Refused) as refused:
        climate_log(resource=small.spots[0], at=NOW, air_c=20.0, humidity_percent=50.0)
    assert "resource" in refused.value.by_field()
