"""A gauge that is stale or reads shims wrongly is named."""

import pytest

from tests.estimating.core.cases import document, panel, written


def warnings(**calibration):
    gauge = {"accuracy_um": 1.0, "accuracy_share": 0.01, "calibration": calibration}
    found = written(document(panel("hood", 115.0), unit="um", gauge=gauge))["warnings"]
    return [warning for warning in found if warning.startswith("Gauge")]


@pytest.mark.parametrize(("days_ago", "count"), [(180, 0), (181, 1)])
def test_stale_after_its_days(days_ago, count):
    assert len(warnings(days_ago=days_ago)) == count


@pytest.mark.parametrize(("read", "count"), [(102.0, 0), (102.1, 1), (97.9, 1)])
def test_a_shim_must_read_within_a_plus_b_t(read, count):
    assert len(warnings(days_ago=1, shims=[[100.0, read]])) == count
