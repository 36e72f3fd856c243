"""Gauges over HTTP: checked on shims by whoever holds them."""

import pytest

from estimating.models import GaugeCalibration
from tests import factories as make


@pytest.fixture
def gauge(people):
    return make.GaugeFactory(shop=people.shop)


def path(gauge):
    return f"/api/gauges/{gauge.pk}/calibrate/"


def test_a_technician_keeps_a_check(people, client_of, gauge):
    answer = client_of(people.technician).post(path(gauge), {"shims": [[2, 2.3]], "unit": "mil"})
    assert answer.status_code == 201
    assert (answer.data["passed"], answer.data["member"]) == (False, people.technician.pk)
    assert answer.data["shims_um"] == [pytest.approx((50.8, 58.42))]


@pytest.mark.parametrize("wrong", [{}, {"shims": []}, {"shims": [[50]]}, {"shims": [[0, 50]]}])
def test_wrong_shims(people, client_of, gauge, wrong):
    answer = client_of(people.technician).post(path(gauge), wrong)
    assert answer.status_code == 400
    assert any(name.startswith("shims") for name in answer.data["errors"])
    assert not GaugeCalibration.objects.exists()


def test_another_shops_gauge_is_not_found(people, client_of, gauge):
    answer = client_of(people.outsider).post(path(gauge), {"shims": [[50, 50]]})
    assert answer.status_code == 404
