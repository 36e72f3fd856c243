"""Rows of the shop's catalogue: bodies, panels, levels, defects, coating, stock.

Every row is flat and points at other rows by code, so that each maps onto one
table. Film is in micrometres, area in square metres, time in minutes unless the
name says hours, `sigma` is the standard deviation of the logarithm of a duration.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimating.core import words
from estimating.core.checks import (
    RuleBroken,
    count,
    finite,
    not_negative,
    one_of,
    positive,
    share,
    share_below_one,
    text,
)


@dataclass(frozen=True, slots=True)
class Body:
    """A body class; the factors multiply every wash or panel time on it."""

    code: str
    name: str
    time_factor: float
    wash_factor: float

    def __post_init__(self) -> None:
        one_of("body code", self.code, words.BODIES)
        text("body name", self.name)
        positive("time_factor", self.time_factor)
        positive("wash_factor", self.wash_factor)


@dataclass(frozen=True, slots=True)
class PanelKind:
    """What holds for a panel on any body; the area serves where a body has no row."""

    code: str
    group: str
    substrate: str
    area_m2: float
    access_factor: float
    neighbours: tuple[str, ...]

    def __post_init__(self) -> None:
        one_of("panel code", self.code, words.PANELS)
        one_of("panel group", self.group, words.GROUPS)
        one_of("substrate", self.substrate, words.SUBSTRATES)
        positive("area_m2", self.area_m2)
        positive("access_factor", self.access_factor)
        for neighbour in self.neighbours:
            one_of("neighbour", neighbour, words.PANELS)


@dataclass(frozen=True, slots=True)
class BodyPanel:
    """One panel of the panel set of one body."""

    body: str
    panel: str
    area_m2: float
    access_factor: float

    def __post_init__(self) -> None:
        one_of("body", self.body, words.BODIES)
        one_of("panel", self.panel, words.PANELS)
        positive("area_m2", self.area_m2)
        positive("access_factor", self.access_factor)


@dataclass(frozen=True, slots=True)
class WashSize:
    """A prep wash by size; `list_price` is what it costs when sold alone."""

    code: str
    name: str
    bodies: tuple[str, ...]
    minutes: float
    sigma: float
    list_price: Decimal

    def __post_init__(self) -> None:
        text("wash code", self.code)
        text("wash name", self.name)
        for body in self.bodies:
            one_of("body of a wash size", body, words.BODIES)
        positive("minutes", self.minutes)
        not_negative("sigma", self.sigma)
        not_negative("list_price", self.list_price)


@dataclass(frozen=True, slots=True)
class Level:
    """A correction level; its passes are `LevelPass` rows.

    `on_unreadable` lets it be used where no gauge reads the film (gentlest work only).
    """

    code: str
    name: str
    order: int
    on_unreadable: bool

    def __post_init__(self) -> None:
        one_of("level code", self.code, words.LEVELS)
        text("level name", self.name)
        count("order", self.order)


@dataclass(frozen=True, slots=True)
class LevelPass:
    """One time over the panel: what it takes from medium paint and how fast it goes."""

    level: str
    order: int
    name: str
    removal_um: float
    removal_sd_um: float
    coverage_m2_per_hour: float
    sigma: float
    setup_minutes: float
    product: str
    product_per_m2: float
    pad: str
    pad_life_m2: float

    def __post_init__(self) -> None:
        one_of("level of a pass", self.level, words.LEVELS[1:])
        count("order", self.order, 1)
        text("pass name", self.name)
        positive("removal_um", self.removal_um)
        not_negative("removal_sd_um", self.removal_sd_um)
        positive("coverage_m2_per_hour", self.coverage_m2_per_hour)
        not_negative("sigma", self.sigma)
        not_negative("setup_minutes", self.setup_minutes)
        text("product", self.product)
        not_negative("product_per_m2", self.product_per_m2)
        text("pad", self.pad)
        positive("pad_life_m2", self.pad_life_m2)


@dataclass(frozen=True, slots=True)
class Hardness:
    """Factors of a paint hardness on film removed, on time and on marks cleared."""

    code: str
    removal_factor: float
    time_factor: float
    clearance_factor: float

    def __post_init__(self) -> None:
        one_of("hardness code", self.code, words.HARDNESSES)
        positive("removal_factor", self.removal_factor)
        positive("time_factor", self.time_factor)
        positive("clearance_factor", self.clearance_factor)


@dataclass(frozen=True, slots=True)
class DefectProfile:
    """Depth distribution of one kind at one severity.

    `depth_um` is the mean of an exponential or the median of a log-normal
    distribution (`depth_sigma` is for the latter). `weight` says how much one
    square metre of it, or one of it where it is counted, weighs in the share of
    defects cleared.
    """

    kind: str
    severity: str
    distribution: str
    depth_um: float
    depth_sigma: float
    weight: float

    def __post_init__(self) -> None:
        one_of("defect kind", self.kind, words.KINDS)
        one_of("severity", self.severity, words.SEVERITIES)
        one_of("distribution", self.distribution, words.DISTRIBUTIONS)
        positive("depth_um", self.depth_um)
        not_negative("depth_sigma", self.depth_sigma)
        if self.distribution == "lognormal" and self.depth_sigma == 0:
            raise RuleBroken("depth_sigma must be above 0 for a log-normal depth")
        positive("weight", self.weight)


@dataclass(frozen=True, slots=True)
class SpotMethod:
    """Local work on one scratch or etch mark.

    `takes_um` is what it takes at the bottom of the mark; after `sand` the film
    there must stay above floor and reserve, before `fill` it must be at least
    `bottom_least_um`. `unless_cleared` is the chance of clearing by the panel's
    own level above which no spot work is called for.
    """

    kind: str
    method: str
    order: int
    minutes: float
    sigma: float
    takes_um: float
    takes_sd_um: float
    bottom_least_um: float
    cleared: float
    unless_cleared: float

    def __post_init__(self) -> None:
        one_of("kind of a spot method", self.kind, words.COUNT_KINDS)
        one_of("method", self.method, words.METHODS[:2])
        count("order", self.order, 1)
        positive("minutes", self.minutes)
        not_negative("sigma", self.sigma)
        not_negative("takes_um", self.takes_um)
        not_negative("takes_sd_um", self.takes_sd_um)
        not_negative("bottom_least_um", self.bottom_least_um)
        share("cleared", self.cleared)
        share("unless_cleared", self.unless_cleared)


@dataclass(frozen=True, slots=True)
class CoatingSystem:
    """A coating system: cure at a reference temperature, and the climate it stands."""

    code: str
    name: str
    note: str
    reference_c: float
    q10: float
    handover_hours: float
    first_wash_hours: float
    full_cure_hours: float
    least_c: float
    most_c: float
    most_humidity: float
    dew_margin_c: float

    def __post_init__(self) -> None:
        text("coating code", self.code)
        text("coating name", self.name)
        finite("reference_c", self.reference_c)
        if not self.q10 >= 1:
            raise RuleBroken(f"q10 must be at least 1, not {self.q10!r}")
        positive("handover_hours", self.handover_hours)
        if not self.handover_hours <= self.first_wash_hours <= self.full_cure_hours:
            raise RuleBroken(
                "cure hours must not fall from handover_hours to first_wash_hours"
                " to full_cure_hours"
            )
        if not self.least_c < self.most_c:
            raise RuleBroken("least_c must be below most_c")
        share("most_humidity", self.most_humidity)
        not_negative("dew_margin_c", self.dew_margin_c)


@dataclass(frozen=True, slots=True)
class CoatingLayer:
    """One layer: how much is spread, how long it takes, when the next may follow."""

    system: str
    order: int
    name: str
    product: str
    volume_solids: float
    dry_film_um: float
    loss_share: float
    minutes_per_m2: float
    sigma: float
    flash_minutes: int
    recoat_least_minutes: int
    recoat_most_minutes: int
    crew: int
    lamps: int

    def __post_init__(self) -> None:
        text("system of a layer", self.system)
        count("order", self.order, 1)
        text("layer name", self.name)
        text("product", self.product)
        share("volume_solids", self.volume_solids)
        positive("volume_solids", self.volume_solids)
        positive("dry_film_um", self.dry_film_um)
        share_below_one("loss_share", self.loss_share)
        positive("minutes_per_m2", self.minutes_per_m2)
        not_negative("sigma", self.sigma)
        count("flash_minutes", self.flash_minutes)
        if not self.flash_minutes <= self.recoat_least_minutes <= self.recoat_most_minutes:
            raise RuleBroken(
                "minutes must not fall from flash_minutes to recoat_least_minutes"
                " to recoat_most_minutes"
            )
        count("crew", self.crew, 1)
        count("lamps", self.lamps)


@dataclass(frozen=True, slots=True)
class AddOn:
    """Work sold beside correction and coating (glass, wheels, leather)."""

    code: str
    name: str
    minutes: float
    sigma: float
    list_price: Decimal
    bay: str
    skill: str

    def __post_init__(self) -> None:
        text("add-on code", self.code)
        text("add-on name", self.name)
        positive("minutes", self.minutes)
        not_negative("sigma", self.sigma)
        not_negative("list_price", self.list_price)
        one_of("bay", self.bay, words.BAY_CAPABILITIES)
        one_of("skill", self.skill, words.SKILLS)


@dataclass(frozen=True, slots=True)
class Stage:
    """A kind of work block: fixed and per-area time, and what it needs."""

    code: str
    name: str
    minutes: float
    minutes_per_m2: float
    sigma: float
    bay: str
    skill: str
    crew: int
    pausable: bool

    def __post_init__(self) -> None:
        one_of("stage code", self.code, words.STAGES)
        text("stage name", self.name)
        not_negative("minutes", self.minutes)
        not_negative("minutes_per_m2", self.minutes_per_m2)
        not_negative("sigma", self.sigma)
        one_of("bay", self.bay, words.BAY_CAPABILITIES)
        one_of("skill", self.skill, words.SKILLS)
        count("crew", self.crew)


@dataclass(frozen=True, slots=True)
class Usage:
    """Material a stage, a spot method (`spot_sand`) or an add-on (its code) uses."""

    stage: str
    consumable: str
    per: str
    quantity: float

    def __post_init__(self) -> None:
        text("stage of a usage", self.stage)
        text("consumable", self.consumable)
        one_of("per", self.per, words.USAGE_PER)
        positive("quantity", self.quantity)


@dataclass(frozen=True, slots=True)
class Consumable:
    """A thing on the shelf, its cost by unit and how it is bought again."""

    code: str
    name: str
    unit: str
    unit_cost: Decimal
    purchase_size: float
    on_hand: float
    reorder_point: float
    lot_size: float
    lead_days: int

    def __post_init__(self) -> None:
        text("consumable code", self.code)
        text("consumable name", self.name)
        text("unit", self.unit)
        not_negative("unit_cost", self.unit_cost)
        positive("purchase_size", self.purchase_size)
        not_negative("on_hand", self.on_hand)
        not_negative("reorder_point", self.reorder_point)
        positive("lot_size", self.lot_size)
        count("lead_days", self.lead_days)


@dataclass(frozen=True, slots=True)
class Technician:
    """How the time of a class of technician compares with the catalogue's."""

    code: str
    name: str
    time_factor: float

    def __post_init__(self) -> None:
        text("technician code", self.code)
        text("technician name", self.name)
        positive("time_factor", self.time_factor)
