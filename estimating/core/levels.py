"""Correction levels: what their passes take from the film, and with what variance."""

from __future__ import annotations

import math
from dataclasses import dataclass

from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_rows import Hardness, LevelPass


@dataclass(frozen=True, slots=True)
class LevelEffect:
    """A level on a given paint: ordered passes, removal and deviation in micrometres."""

    code: str
    name: str
    passes: tuple[LevelPass, ...]
    removal_um: float
    removal_sd_um: float
    on_unreadable: bool


def level_effects(
    catalogue: Catalogue, hardness: Hardness, rate_sd: float = 0.0
) -> tuple[LevelEffect, ...]:
    """All levels in order on a paint of one hardness; passes add up independently.

    `rate_sd` is the deviation left in the paint's rate after a test spot, as a share
    of the tables' removal; all passes of a vehicle share it.
    """
    effects = []
    for level in sorted(catalogue.levels, key=lambda row: row.order):
        passes = tuple(
            sorted((p for p in catalogue.passes if p.level == level.code), key=lambda p: p.order)
        )
        factor = hardness.removal_factor
        mean_um = sum(p.removal_um for p in passes)
        effects.append(
            LevelEffect(
                code=level.code,
                name=level.name,
                passes=passes,
                removal_um=factor * mean_um,
                removal_sd_um=math.hypot(
                    factor * math.hypot(*(p.removal_sd_um for p in passes)), rate_sd * mean_um
                ),
                on_unreadable=level.on_unreadable,
            )
        )
    return tuple(effects)
