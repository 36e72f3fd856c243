"""A gauge is checked on shims, and an inspection knows how long ago that was."""

from datetime import timedelta
from typing import Any

import pytest

from estimating.models import Gauge, GaugeCalibration
from estimating.selectors import inspection_document
from estimating.services.estimates import estimate_make
from estimating.services.gauges import gauge_calibrate
from estimating.services.inspections import inspection_save
from shop.models import Member, Shop, Vehicle
from shop.refusals import Refused
from tests.factories import NOW, TODAY, GaugeFactory, MemberFactory, fender

LONG_AGO = NOW - timedelta(days=400)


@pytest.fixture
def gauge(shop: Shop) -> Gauge:
    made: Gauge = GaugeFactory(shop=shop, accuracy_um=1.0, accuracy_share=0.01)
    return made


# a + b·t: a shim of 51.0 µm may read 1.0 + 0.51 = 1.51 µm off.
@pytest.mark.parametrize(("read_um", "holds"), [(52.51, True), (49.49, True), (52.52, False)])
def test_passes_within_the_stated_accuracy(
    gauge: Gauge, owner: Member, read_um: float, holds: bool
) -> None:
    kept = gauge_calibrate(gauge=gauge, member=owner, now=NOW, shims=[(51.0, read_um), (102, 102)])
    assert kept.passed is holds


def test_kept_in_micrometres(gauge: Gauge, owner: Member) -> None:
    gauge_calibrate(gauge=gauge, member=owner, now=NOW, shims=[[2.0, 2.01]], unit="mil")
    kept = GaugeCalibration.objects.get()
    assert kept.shims_um == [pytest.approx([50.8, 51.054])]
    assert (kept.member, kept.at, kept.passed) == (owner, NOW, True)


@pytest.mark.parametrize(
    "shims",
    [[], [[1]], [[1, "2"]], [[0, 5]], [[5, float("nan")]], [[5, 2001]], [5], [[5, 5]] * 51],
)
def test_shims_that_are_none(gauge: Gauge, owner: Member, shims: Any) -> None:
    with pytest.raises(Refused) as refused:
        gauge_calibrate(gauge=gauge, member=owner, now=NOW, shims=shims)
    assert next(iter(refused.value.by_field())).startswith("shims")
    assert not GaugeCalibration.objects.exists()


def test_another_shops_gauge(gauge: Gauge) -> None:
    with pytest.raises(Refused):
        gauge_calibrate(gauge=gauge, member=MemberFactory(), now=NOW, shims=[(50, 50)])


@pytest.mark.parametrize(("at", "stale"), [(LONG_AGO, True), (NOW - timedelta(days=3), False)])
def test_a_stale_gauge_warns(
    vehicle: Vehicle, gauge: Gauge, owner: Member, at: Any, stale: bool
) -> None:
    gauge_calibrate(gauge=gauge, member=owner, now=LONG_AGO, shims=[(50, 50)])
    gauge_calibrate(gauge=gauge, member=owner, now=at, shims=[(50.8, 51)])
    gauge_calibrate(gauge=gauge, member=owner, now=NOW + timedelta(hours=1), shims=[(50, 50)])
    kept = inspection_save(
        vehicle=vehicle,
        member=owner,
        now=NOW,
        document={"unit": "mil", "panels": [fender()]},
        gauge=gauge,
    )
    document = inspection_document(kept) | {"goal": {"cleared": 0.6}}
    assert document["gauge"]["calibration"] == {
        "days_ago": (NOW - at).days,
        "shims": [pytest.approx([2.0, 51 / 25.4], abs=1e-5)],
    }
    made = estimate_make(shop=vehicle.shop, document=document, day=TODAY)
    assert any("last calibrated" in warning for warning in made.warnings) is stale
