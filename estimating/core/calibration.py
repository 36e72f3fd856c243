"""A gauge's calibration record: is it recent, and does it hold on known shims."""

from __future__ import annotations

from estimating.core.catalogue_prior import FilmSettings, Gauge
from estimating.core.inspection import Calibration
from estimating.core.units import film_text


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
        allowed_um = gauge.accuracy_um + gauge.accuracy_share * nominal_um
        if abs(reading_um - nominal_um) > allowed_um:
            warnings.append(
                f"Gauge: a shim of {film_text(nominal_um, unit)} read"
                f" {film_text(reading_um, unit)}, off by more than {allowed_um:.1f} µm"
            )
    return warnings
