"""How many spots make a fair picture of an area, as in SSPC-PA 2.

The standard is for the acceptance of applied paint; here only its arithmetic is
used, to say when a vehicle has been measured too thinly.
"""

from __future__ import annotations

import math

SPOTS_PER_AREA = 5
READINGS_PER_SPOT = 3
FT2_PER_M2 = 1 / 0.3048**2

_AREA_FT2 = 100
_EVERY_AREA_UP_TO_FT2 = 300
_THREE_AREAS_UP_TO_FT2 = 1000


def areas_to_measure(area_ft2: float) -> int:
    """Number of areas of 100 square feet to measure.

    Up to 300 square feet every one, up to 1,000 three, then one more for each
    further 1,000 or part of it (SSPC-PA 2, as summarised in its newsletter).
    """
    if area_ft2 <= _EVERY_AREA_UP_TO_FT2:
        return max(1, math.ceil(area_ft2 / _AREA_FT2))
    if area_ft2 <= _THREE_AREAS_UP_TO_FT2:
        return 3
    return 3 + math.ceil((area_ft2 - _THREE_AREAS_UP_TO_FT2) / _THREE_AREAS_UP_TO_FT2)


def spots_to_measure(area_m2: float) -> int:
    """Spots asked for on an area in square metres, five for each area measured."""
    return SPOTS_PER_AREA * areas_to_measure(area_m2 * FT2_PER_M2)
