"""Robust statistics: modified z-scores that a single odd value cannot hide in."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import fmean, median

# 0.6745 is the upper quartile of the standard normal distribution, as printed in
# NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.
_NORMAL_QUARTILE = 0.6745
# Mean absolute deviation of a standard normal: sqrt(2 / pi), for the fall-back.
_NORMAL_MEAN_DEVIATION = 0.7978845608028654


def modified_scores(values: Sequence[float]) -> list[float] | None:
    """Modified z-scores `0.6745 (x - median) / MAD`.

    Parameters
    ----------
    values
        At least one number.

    Returns
    -------
    list of float or None
        One score for each value. Where more than half of the values are alike the
        MAD is zero and the mean absolute deviation takes its place; where all are
        alike there is nothing to compare with and the answer is None.
    """
    middle = median(values)
    deviations = [abs(value - middle) for value in values]
    mad = median(deviations)
    if mad > 0:
        return [_NORMAL_QUARTILE * (value - middle) / mad for value in values]
    mean_deviation = fmean(deviations)
    if mean_deviation > 0:
        return [_NORMAL_MEAN_DEVIATION * (value - middle) / mean_deviation for value in values]
    return None
