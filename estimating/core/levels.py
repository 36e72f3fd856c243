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


def level_effects(catalogue: Catalogue, hardness: Hardness) -> tuple[LevelEffect, ...]:
    """All levels in order on a paint of one hardness; passes add up independently."""
    effects = []
    for level in sorted(catalogue.levels, key=lambda row: row.order):
        passes = tuple(
            sorted((p for p in catalogue.passes if p.level == level.code), key=lambda p: p.order)
        )
        factor = hardness.removal_factor
        effects.append(
            LevelEffect(
                code=level.code,
                name=level.name,
                passes=passes,
                removal_um=factor * sum(p.removal_um for p in passes),
                removal_sd_um=factor * math.sqrt(sum(p.removal_sd_um**2 for p in passes)),
                on_unreadable=level.on_unreadable,
            )
        )
    return tuple(effects)
