"""Learning a paint from a test spot: readings before and after a trial section.

How a paint gives film to an abrasive, and how its marks clear, are known from the
tables only roughly. A trial measures both at the vehicle; a normal prior about the
tables is updated by Bayes, and the plan is worked out again from what was learned.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_prior import Gauge
from estimating.core.catalogue_rows import DefectProfile
from estimating.core.inspection import PanelFinding, Trial
from estimating.core.levels import LevelEffect
from estimating.core.words import AREA_KINDS

_LEAST_FACTOR = 0.2
_MOST_SHARE = 0.99


@dataclass(frozen=True, slots=True)
class PaintRates:
    """Factors on the tables' removal and clearance, with their deviations."""

    removal: float = 1.0
    removal_sd: float = 0.0
    clearance: float = 1.0
    trials: int = 0


def normal_update(
    mean: float, sd: float, observed: float, observed_sd: float
) -> tuple[float, float]:
    """Posterior mean and deviation of a normal prior after one normal observation."""
    weight, information = 1 / sd**2, 1 / observed_sd**2
    precision = weight + information
    return (mean * weight + observed * information) / precision, math.sqrt(1 / precision)


def removed_um(trial: Trial) -> float:
    """Film a trial took: mean of the spots before less mean of the spots after."""
    return fmean(map(fmean, trial.before)) - fmean(map(fmean, trial.after))


def removed_sd_um(trial: Trial, gauge: Gauge) -> float:
    """Deviation of that difference.

    Only repeatability counts: the same gauge at nearly the same thickness has the
    same error of accuracy before and after.
    """
    before, after = sum(map(len, trial.before)), sum(map(len, trial.after))
    return gauge.repeatability_um * math.sqrt(1 / before + 1 / after)


def learn(
    findings: Iterable[PanelFinding],
    effects: Sequence[LevelEffect],
    catalogue: Catalogue,
    gauge: Gauge,
    clearance_factor: float,
) -> PaintRates:
    """Update the rates of a vehicle's paint by all its test spots.

    Parameters
    ----------
    findings
        Panels, of which some may hold a trial.
    effects
        Levels as the tables have them for this paint.
    catalogue
        Its `film.rate_sd_share` is how far paints differ from the tables.
    gauge
        The gauge that read the trials.
    clearance_factor
        Of the paint's hardness in the tables.
    """
    prior_sd = catalogue.film.rate_sd_share
    removal, removal_sd = 1.0, prior_sd
    clearance, clearance_sd = 1.0, prior_sd
    trials = 0
    by_code = {effect.code: effect for effect in effects}
    for finding in findings:
        trial = finding.trial
        if trial is None:
            continue
        trials += 1
        effect = by_code[trial.level]
        noise = math.hypot(removed_sd_um(trial, gauge), effect.removal_sd_um)
        observed = removed_um(trial) / effect.removal_um
        removal, removal_sd = normal_update(
            removal, removal_sd, observed, max(noise / effect.removal_um, 1e-6)
        )
        profile = _main_profile(finding, catalogue)
        if trial.cleared is not None and profile is not None:
            # A share judged by eye is taken to be worth as much as the tables.
            removed = max(removal, _LEAST_FACTOR) * effect.removal_um
            seen = depth_at(profile, trial.cleared) / (removed * clearance_factor)
            clearance, clearance_sd = normal_update(clearance, clearance_sd, seen, prior_sd)
    if not trials:
        return PaintRates()
    return PaintRates(
        max(removal, _LEAST_FACTOR), removal_sd, max(clearance, _LEAST_FACTOR), trials
    )


def _main_profile(finding: PanelFinding, catalogue: Catalogue) -> DefectProfile | None:
    """The depth distribution of the panel's largest area defect."""
    area = [defect for defect in finding.defects if defect.kind in AREA_KINDS]
    if not area:
        return None
    main = max(area, key=lambda defect: defect.extent or 0.0)
    return catalogue.profile_of[main.kind, main.severity]


def depth_at(profile: DefectProfile, share: float) -> float:
    """Depth in micrometres that a share of marks does not exceed."""
    share = min(max(share, 1 - _MOST_SHARE), _MOST_SHARE)
    if profile.distribution == "exponential":
        return -profile.depth_um * math.log1p(-share)
    return profile.depth_um * math.exp(profile.depth_sigma * NormalDist().inv_cdf(share))
