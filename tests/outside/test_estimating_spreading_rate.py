"""Theoretical spreading rate and wet film against printed tables and pint.

Sources: "Theoretical Spreading Rate / Coverage" general-information sheet (its
printed metric formula is wrong by ten, its example right); an estimating guide's
table (its entry for 72 % at 2 mil is a misprint and is not copied here).
"""

from typing import Any

import pint
import pytest

from estimating.core.materials import spreading_m2_per_l, wet_film_um
from estimating.core.units import to_um

REGISTRY: Any = pint.UnitRegistry()


def ft2_per_gallon(volume_solids, dry_mil):
    rate = spreading_m2_per_l(volume_solids, to_um(dry_mil, "mil"))
    return REGISTRY.Quantity(rate, "m**2/l").to("ft**2/gallon").magnitude


def test_one_gallon_of_pure_solids_at_one_mil():
    assert ft2_per_gallon(1.0, 1.0) == pytest.approx(1604.1667, abs=1e-3)


def test_metric_example_of_the_sheet():
    assert spreading_m2_per_l(0.65, 125.0) == pytest.approx(5.2)


def test_both_unit_systems_agree():
    assert spreading_m2_per_l(0.65, 127.0) == pytest.approx(5.118110, abs=1e-6)
    assert ft2_per_gallon(0.65, 5.0) == pytest.approx(208.5417, abs=1e-3)


@pytest.mark.parametrize(
    ("solids", "dry_mil", "printed"),
    [
        (0.35, 1, 561), (0.35, 2, 281), (0.50, 1, 802), (0.50, 3, 267), (0.50, 5, 160),
        (0.65, 1, 1043), (0.65, 2, 521), (0.65, 4, 261), (0.65, 6, 174), (0.65, 10, 104),
    ],
)  # fmt: skip
def test_table_of_the_guide(solids, dry_mil, printed):
    assert ft2_per_gallon(solids, dry_mil) == pytest.approx(printed, abs=1)


def test_transfer_loss_counts_against_coverage():
    # R. Joseph, paint questions column, October 2003: 167 ft2 of a gallon.
    assert ft2_per_gallon(0.52, 1.5) * (1 - 0.70) == pytest.approx(167, abs=0.5)


def test_wet_film_that_dries_to_2_8_mil():
    assert wet_film_um(0.35, 2.8) == pytest.approx(8.0)
    assert wet_film_um(0.35, 2.8, thinned_share=0.10) == pytest.approx(8.8)
