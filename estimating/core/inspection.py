"""What was found at the vehicle: the input of an estimate, film in micrometres."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimating.core import words
from estimating.core.catalogue_prior import FilmPolicy, Gauge
from estimating.core.checks import RuleBroken, count, is_number, one_of, positive, share
from estimating.core.units import UNITS

MOST_READING_UM = 2000.0  # the end of the range of common film gauges
LEAST_READINGS = 3  # SSPC-PA 2: a spot is the mean of at least three readings


@dataclass(frozen=True, slots=True)
class Vehicle:
    """The vehicle, and the answers a caller gave (None: not asked yet)."""

    body: str
    age_months: int
    hardness: str = "medium"
    storage: str | None = None
    wash_habit: str | None = None
    colour: str | None = None
    previous_correction: str | None = None

    def __post_init__(self) -> None:
        one_of("body", self.body, words.BODIES)
        count("age_months", self.age_months)
        one_of("hardness", self.hardness, words.HARDNESSES)

    def answers(self) -> dict[str, str]:
        """Questions of the phone quote that have been answered."""
        given = {
            "storage": self.storage,
            "wash_habit": self.wash_habit,
            "colour": self.colour,
            "previous_correction": self.previous_correction,
        }
        return {question: answer for question, answer in given.items() if answer is not None}


@dataclass(frozen=True, slots=True)
class Defect:
    """One finding: an extent for kinds of area, a count for scratches and etching."""

    kind: str
    severity: str = "moderate"
    extent: float | None = None
    count: int | None = None
    local_reading_um: float | None = None

    def __post_init__(self) -> None:
        one_of("kind", self.kind, words.KINDS)
        one_of("severity", self.severity, words.SEVERITIES)
        if self.kind in words.COUNT_KINDS:
            if self.count is None or self.extent is not None:
                raise RuleBroken(f"{self.kind} takes a count and no extent")
            count("count", self.count, 1)
        else:
            if self.extent is None or self.count is not None:
                raise RuleBroken(f"{self.kind} takes an extent and no count")
            share("extent", self.extent)
            if self.local_reading_um is not None:
                raise RuleBroken("local_reading is for deep_scratch and etching only")
        if self.local_reading_um is not None:
            positive("local_reading", self.local_reading_um)


Spots = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Trial:
    """A test spot: a level tried on a section, with readings before and after.

    `cleared` is the share of marks seen to have gone, judged by eye.
    """

    level: str
    before: Spots
    after: Spots
    cleared: float | None = None

    def __post_init__(self) -> None:
        one_of("level of a test spot", self.level, words.LEVELS[1:])
        for name in ("before", "after"):
            spots = getattr(self, name)
            if not spots or any(len(spot) < LEAST_READINGS for spot in spots):
                raise RuleBroken(f"{name} needs at least one spot of three readings")
        if self.cleared is not None:
            share("cleared", self.cleared)


@dataclass(frozen=True, slots=True)
class EarlierFilm:
    """Mean film of a panel at an earlier inspection."""

    months_ago: int
    film_um: float

    def __post_init__(self) -> None:
        count("months_ago", self.months_ago, 1)
        positive("film", self.film_um)


@dataclass(frozen=True, slots=True)
class Calibration:
    """The last calibration of the gauge: its age, and shims as (true, read)."""

    days_ago: int
    shims_um: tuple[tuple[float, float], ...] = ()

    def __post_init__(self) -> None:
        count("days_ago", self.days_ago)
        for true_um, read_um in self.shims_um:
            positive("shim", true_um)
            positive("shim reading", read_um)


@dataclass(frozen=True, slots=True)
class PanelFinding:
    """Readings (spots of three or more) and defects of one panel.

    `covered` means protection film over the paint, so that readings are not paint.
    """

    panel: str
    substrate: str
    spots: Spots
    defects: tuple[Defect, ...] = ()
    covered: bool = False
    trial: Trial | None = None
    earlier: tuple[EarlierFilm, ...] = ()

    def __post_init__(self) -> None:
        one_of("panel", self.panel, words.PANELS)
        one_of("substrate", self.substrate, words.SUBSTRATES)
        for spot in self.spots:
            if len(spot) < LEAST_READINGS:
                raise RuleBroken("a spot needs at least three readings")
            for reading in spot:
                positive("reading", reading)
                if reading > MOST_READING_UM:
                    raise RuleBroken(f"reading must be at most {MOST_READING_UM} um")


@dataclass(frozen=True, slots=True)
class Goal:
    """What the plan is for: exactly one of the three."""

    cleared: float | None = None
    price_cap: Decimal | None = None
    safest_best: bool = False

    def __post_init__(self) -> None:
        chosen = (self.cleared is not None) + (self.price_cap is not None) + self.safest_best
        if chosen != 1:
            raise RuleBroken("goal takes exactly one of cleared, price_cap, safest_best")
        if self.cleared is not None:
            share("cleared", self.cleared)
        if self.price_cap is not None and (not is_number(self.price_cap) or self.price_cap < 0):
            raise RuleBroken("price_cap must be an amount of at least 0")


@dataclass(frozen=True, slots=True)
class GivenPolicy:
    """The part of a film policy that a file states; None means the shop's own."""

    floor_um: float | None = None
    reserve_um: float | None = None
    max_risk: float | None = None

    def over(self, shop: FilmPolicy) -> FilmPolicy:
        """The shop's policy with what is stated put in its place."""
        return FilmPolicy(
            shop.floor_um if self.floor_um is None else self.floor_um,
            shop.reserve_um if self.reserve_um is None else self.reserve_um,
            shop.max_risk if self.max_risk is None else self.max_risk,
        )


@dataclass(frozen=True, slots=True)
class GivenGauge:
    """The part of a gauge's data that a file states; None means the shop's own."""

    repeatability_um: float | None = None
    accuracy_um: float | None = None
    accuracy_share: float | None = None

    def over(self, shop: Gauge) -> Gauge:
        """The shop's gauge with what is stated put in its place."""
        return Gauge(
            shop.repeatability_um if self.repeatability_um is None else self.repeatability_um,
            shop.accuracy_um if self.accuracy_um is None else self.accuracy_um,
            shop.accuracy_share if self.accuracy_share is None else self.accuracy_share,
        )


@dataclass(frozen=True, slots=True)
class Inspection:
    """One inspection as it was written down; None means the shop's own values."""

    unit: str
    vehicle: Vehicle
    goal: Goal
    panels: tuple[PanelFinding, ...] = ()
    gauge: GivenGauge = GivenGauge()
    policy: GivenPolicy = GivenPolicy()
    calibration: Calibration | None = None

    def __post_init__(self) -> None:
        one_of("unit", self.unit, UNITS)
        names = [finding.panel for finding in self.panels]
        if len(set(names)) != len(names):
            raise RuleBroken("a panel may be given once")
        for finding in self.panels:
            if not finding.spots and finding.substrate != "composite":
                raise RuleBroken("spots may be empty only for a composite panel")
