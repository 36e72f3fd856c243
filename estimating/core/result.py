"""The answer of the core: an estimate, as plain frozen records."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimating.core.catalogue_prior import FilmPolicy
from estimating.core.costing import Cost, Priced
from estimating.core.film import PanelFilm
from estimating.core.hours import Range
from estimating.core.inspection import Defect, Goal
from estimating.core.levels import LevelEffect
from estimating.core.materials import MaterialLine
from estimating.core.operations import Operation
from estimating.core.options import Options
from estimating.core.phone import Question
from estimating.core.risk import Remainder
from estimating.core.spotwork import SpotWork


@dataclass(frozen=True)
class PanelPlan:
    """One panel of an estimate; film in micrometres, None where it is unknown."""

    panel: str
    substrate: str
    area_m2: float
    film: PanelFilm | None
    condition: str
    rule: str
    budget_um: float | None
    defects: tuple[Defect, ...]
    level: str
    effect: LevelEffect
    removal_um: float
    removal_sd_um: float
    remainder: Remainder | None
    risk: float | None
    risk_words: str
    spot_work: tuple[SpotWork, ...]
    cleared: float
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class CurvePoint:
    """A step of the finish curve; `levels` maps each panel to its level there."""

    cleared: float
    price: Decimal
    levels: tuple[tuple[str, str], ...]
    chosen: bool


@dataclass(frozen=True)
class Estimate:
    """The whole estimate.

    `source` is `inspection` or `prior`; `status` is `reached`, `film_limit` (the
    film allows no more than this) or `cap_too_low`. `hours_minutes` is attended
    labour. `cost` and `likely` stand at its median; `low` and `high` are the prices
    at P10 and P90. `why` compares with the next cheaper and dearer plan.
    """

    source: str
    status: str
    unit: str
    currency: str
    policy: FilmPolicy
    goal: Goal
    options: Options
    panels: tuple[PanelPlan, ...]
    cleared: float
    minutes: Range
    materials: tuple[MaterialLine, ...]
    cost: Cost
    low: Priced
    likely: Priced
    high: Priced
    curve: tuple[CurvePoint, ...]
    operations: tuple[Operation, ...]
    questions: tuple[Question, ...]
    warnings: tuple[str, ...]
    why: tuple[str, ...] = ()
