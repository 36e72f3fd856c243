"""A gauge's calibration record: is it recent, and does it hold on known shims."""

from __future__ import annotations

from estimating.core.catalogue_prior import FilmSettings, Gauge
from estimating.core.inspection import Calibration
from estimating.core.units import film_text

# A shim that reads exactly its limit must not fail by how a computer keeps 52.6.
_NANOMETRE_UM = 0.001


def shim_allowed_um(true_um: float, gauge: Gauge) -> float:
    """How far a reading of a shim may lie from its true thickness: ``a + b·t``."""
    return gauge.accuracy_um + gauge.accuracy_share * true_um


def shim_holds(true_um: float, read_um: float, gauge: Gauge) -> bool:
    """Whether a shim was read within the gauge's stated accuracy, to a nanometre."""
    return abs(read_um - true_um) <= shim_allowed_um(true_um, gauge) + _NANOMETRE_UM


def calibration_warnings(
    calibration: Calibration | None, gauge: Gauge, settings: FilmSettings, unit: str
) -> list[str]:
    """Warn of a stale calibration and of shims read outside the gauge's accuracy."""
    if calibration is None:
        return []
    warnings = []
    if calibration.days_ago > settings.stale_days:
        warnings.append(
            f"Gauge: last calibrated {calibration.days_ago} days ago, more than the"
            f" {settings.stale_days} allowed; calibrate and measure again"
        )
    for nominal_um, reading_um in calibration.shims_um:
        if not shim_holds(nominal_um, reading_um, gauge):
            allowed_um = shim_allowed_um(nominal_um, gauge)
            warnings.append(
                f"Gauge: a shim of {film_text(nominal_um, unit)} read"
                f" {film_text(reading_um, unit)}, off by more than {allowed_um:.1f} µm"
            )
    return warnings
