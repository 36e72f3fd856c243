"""Spot and area arithmetic of SSPC-PA 2, read in copies and summaries of the standard."""

import pytest

from estimating.core.catalogue_prior import Gauge
from estimating.core.film import panel_film, spot_of
from estimating.core.sampling import READINGS_PER_SPOT, SPOTS_PER_AREA, areas_to_measure
from tests.estimating.core.cases import catalogue

GAUGE = Gauge(1.0, 1.0, 0.01)


@pytest.mark.parametrize(
    ("area_ft2", "areas", "spots", "readings"),
    [
        (2_800, 5, 25, 75),  # SSPC-PA 2 training slides
        (12_500, 15, 75, 225),  # trade-press report of the SSPC-PA 2 tutorial
        (28_000, 30, 150, 450),  # SSPC-PA 2 training slides
    ],
)
def test_worked_examples(area_ft2, areas, spots, readings):
    assert areas_to_measure(area_ft2) == areas
    assert areas * SPOTS_PER_AREA == spots
    assert spots * READINGS_PER_SPOT == readings


def test_edges_of_the_rule():
    # SSPC newsletter "SSPC-PA 2 Basics": all areas up to 300 ft2, three up to 1,000.
    found = [areas_to_measure(area) for area in (100, 250, 300, 301, 1000, 1001)]
    assert found == [1, 3, 3, 3, 3, 4]


def test_a_spot_is_the_mean_of_its_readings():
    # SSPC-PA 2 (2012) 3.2: at least three readings, their mean is the spot.
    assert spot_of([108.0, 110.0, 112.0], GAUGE, catalogue().film).mean_um == 110.0


def test_an_unusually_high_reading_is_discarded():
    # SSPC-PA 2 (1996) 4.1.2: a reading that cannot be repeated is left out.
    spot = spot_of([110.0, 112.0, 109.0, 240.0], GAUGE, catalogue().film)
    assert spot.set_aside == (240.0,)
    assert spot.mean_um == pytest.approx(331.0 / 3)


def test_the_area_mean_is_the_mean_of_its_spots_and_not_of_all_readings():
    film = panel_film([[100.0] * 3, [110.0] * 6], GAUGE, catalogue().film)
    assert film is not None
    assert (film.mean_um, film.lowest_um) == (105.0, 100.0)
