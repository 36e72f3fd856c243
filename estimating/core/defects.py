"""Defects as depth distributions: what share is gone when some film is removed."""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

from estimating.core.catalogue_rows import DefectProfile

_STANDARD = NormalDist()

# Five-point Gauss-Hermite rule for a standard normal variable: exact for
# polynomials up to degree nine (Abramowitz and Stegun, table 25.10, from memory;
# tests check it against numpy.polynomial.hermite_e.hermegauss).
NODES = (-2.8569700138728056, -1.355626179974266, 0.0, 1.355626179974266, 2.8569700138728056)
WEIGHTS = (
    0.011257411327720693, 0.2220759220056127, 0.5333333333333333,
    0.2220759220056127, 0.011257411327720693,
)  # fmt: skip


def share_shallower(profile: DefectProfile, removed_um: float) -> float:
    """Share of marks no deeper than a removal: the depth distribution at `removed_um`."""
    if removed_um <= 0:
        return 0.0
    if profile.distribution == "exponential":
        return -math.expm1(-removed_um / profile.depth_um)
    return _STANDARD.cdf(math.log(removed_um / profile.depth_um) / profile.depth_sigma)


@lru_cache(maxsize=4096)
def share_cleared(
    profile: DefectProfile, removal_um: float, removal_sd_um: float, clearance_factor: float
) -> float:
    """Expected share cleared by a removal that is itself uncertain.

    Parameters
    ----------
    profile
        Depth distribution of the kind and severity.
    removal_um, removal_sd_um
        Mean and standard deviation of the film removed.
    clearance_factor
        Of the paint's hardness: marks cleared for the same film removed.
    """
    if removal_um <= 0:
        return 0.0
    return sum(
        weight * share_shallower(profile, (removal_um + node * removal_sd_um) * clearance_factor)
        for node, weight in zip(NODES, WEIGHTS, strict=True)
    )


def mean_depth_um(profile: DefectProfile) -> float:
    """Mean depth of a profile in micrometres."""
    if profile.distribution == "exponential":
        return profile.depth_um
    return profile.depth_um * math.exp(profile.depth_sigma**2 / 2)


def depth_sd_um(profile: DefectProfile) -> float:
    """Standard deviation of the depth of a profile in micrometres."""
    if profile.distribution == "exponential":
        return profile.depth_um
    return mean_depth_um(profile) * math.sqrt(math.expm1(profile.depth_sigma**2))


def measured_cleared(depth_um: float, removal_um: float, removal_sd_um: float) -> float:
    """Chance that a removal reaches the bottom of a mark of measured depth."""
    if removal_um <= 0:
        return 0.0
    if removal_sd_um == 0:
        return 1.0 if removal_um >= depth_um else 0.0
    return _STANDARD.cdf((removal_um - depth_um) / removal_sd_um)
