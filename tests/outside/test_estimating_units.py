"""Mil, micrometre: 1 in = 25.4 mm by definition; pint 0.25 as referee.

Trap: pint's `mil` is an angle; its name for a thousandth of an inch is `thou`.
"""

from typing import Any

import pint
import pytest

from estimating.core.sampling import FT2_PER_M2
from estimating.core.units import from_um, to_um

REGISTRY: Any = pint.UnitRegistry()


def test_one_mil_is_25_4_micrometres_exactly():
    assert to_um(1.0, "mil") == 25.4


@pytest.mark.parametrize("mil", [0.1, 3.0, 3.9, 4.7, 9.4])
def test_mil_agrees_with_pint(mil):
    assert to_um(mil, "mil") == pytest.approx(
        REGISTRY.Quantity(mil, "thou").to("um").magnitude, rel=1e-9
    )


def test_round_trip():
    assert from_um(to_um(4.7, "mil"), "mil") == pytest.approx(4.7, rel=1e-12)


def test_square_feet_agree_with_pint():
    assert pytest.approx(REGISTRY.Quantity(1, "m**2").to("ft**2").magnitude) == FT2_PER_M2


def test_pint_mil_is_no_length():
    with pytest.raises(pint.DimensionalityError):
        REGISTRY.Quantity(1, "mil").to("um")
