"""Rows of the phone-quote prior and the shop's settings for film and hours."""

from __future__ import annotations

from dataclasses import dataclass

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
class PriorGrade:
    """A state the paint may be in before anybody has looked, mildest first."""

    code: str
    name: str
    order: int

    def __post_init__(self) -> None:
        text("grade code", self.code)
        text("grade name", self.name)
        count("order", self.order)


@dataclass(frozen=True, slots=True)
class PriorAge:
    """An age band `[from_months, to_months)` and the film expected in it."""

    code: str
    name: str
    from_months: int
    to_months: int | None
    film_um: float
    film_sd_um: float

    def __post_init__(self) -> None:
        text("age band code", self.code)
        text("age band name", self.name)
        count("from_months", self.from_months)
        if self.to_months is not None and self.to_months <= self.from_months:
            raise RuleBroken("to_months must be above from_months, or null for no end")
        positive("film_um", self.film_um)
        positive("film_sd_um", self.film_sd_um)


@dataclass(frozen=True, slots=True)
class PriorShare:
    """The share of vehicles of an age band that are in a grade."""

    age: str
    grade: str
    share: float

    def __post_init__(self) -> None:
        text("age band", self.age)
        text("grade", self.grade)
        share("share", self.share)


@dataclass(frozen=True, slots=True)
class PriorQuestion:
    """A question to the caller; `field` is where a file keeps the answer."""

    code: str
    text: str
    order: int

    def __post_init__(self) -> None:
        text("question code", self.code)
        text("question text", self.text)
        count("order", self.order)


@dataclass(frozen=True, slots=True)
class PriorAnswer:
    """An answer: how common it is, and what it says.

    `tilt` is added to the log-odds from each grade to the next worse one,
    `film_shift_um` to the film expected.
    """

    question: str
    code: str
    name: str
    share: float
    tilt: float
    film_shift_um: float

    def __post_init__(self) -> None:
        text("question", self.question)
        text("answer code", self.code)
        text("answer name", self.name)
        share("share", self.share)
        finite("tilt", self.tilt)
        finite("film_shift_um", self.film_shift_um)


@dataclass(frozen=True, slots=True)
class PriorDefect:
    """What a grade has on painted panels or on trim: an extent, or a count per m2."""

    grade: str
    surface: str
    kind: str
    severity: str
    extent: float
    count_per_m2: float

    def __post_init__(self) -> None:
        text("grade", self.grade)
        one_of("surface", self.surface, ("paint", "trim"))
        one_of("defect kind", self.kind, words.KINDS)
        one_of("severity", self.severity, words.SEVERITIES)
        share("extent", self.extent)
        not_negative("count_per_m2", self.count_per_m2)
        if (self.kind in words.COUNT_KINDS) == (self.count_per_m2 == 0):
            raise RuleBroken("count_per_m2 is for deep_scratch and etching, extent for the rest")


@dataclass(frozen=True, slots=True)
class FilmPolicy:
    """What must stay on the vehicle, and the chance the shop takes of missing it."""

    floor_um: float
    reserve_um: float
    max_risk: float

    def __post_init__(self) -> None:
        positive("floor_um", self.floor_um)
        not_negative("reserve_um", self.reserve_um)
        share_below_one("max_risk", self.max_risk)
        positive("max_risk", self.max_risk)


@dataclass(frozen=True, slots=True)
class Gauge:
    """A gauge: standard deviation of one reading, and accuracy `a + b * t`."""

    repeatability_um: float
    accuracy_um: float
    accuracy_share: float

    def __post_init__(self) -> None:
        not_negative("repeatability_um", self.repeatability_um)
        not_negative("accuracy_um", self.accuracy_um)
        share_below_one("accuracy_share", self.accuracy_share)


@dataclass(frozen=True, slots=True)
class FilmSettings:
    """Thresholds by which readings are judged.

    `refinished_um` and `thin_um` are absolute levels; `outlier_score` is the
    modified z of NIST/SEMATECH e-Handbook 1.3.5.17 above which a panel stands out,
    if it also differs by `outlier_least_um`; `default_spread_um` stands in for the
    spread within a panel that has one spot; `edge_reserve_um` is added to the
    reserve along edges and body lines; `stale_days` is a gauge calibration's life;
    `rate_sd_share` is the deviation of a paint's removal and clearance from the
    tables, as a share of them, before a test spot.
    """

    refinished_um: float
    thin_um: float
    outlier_score: float
    outlier_least_um: float
    outlier_least_panels: int
    default_spread_um: float
    low_spot_um: float
    filler_um: float
    edge_reserve_um: float
    most_um: float
    stale_days: int
    rate_sd_share: float = 0.3

    def __post_init__(self) -> None:
        for name in (
            "refinished_um", "thin_um", "outlier_score", "outlier_least_um",
            "default_spread_um", "low_spot_um", "filler_um", "most_um", "rate_sd_share",
        ):  # fmt: skip
            positive(name, getattr(self, name))
        not_negative("edge_reserve_um", self.edge_reserve_um)
        count("outlier_least_panels", self.outlier_least_panels, 3)
        count("stale_days", self.stale_days, 1)
        if not self.thin_um < self.refinished_um < self.filler_um <= self.most_um:
            raise RuleBroken("levels must rise from thin_um to refinished_um, filler_um, most_um")


@dataclass(frozen=True, slots=True)
class HoursModel:
    """How durations of one vehicle hang together, and the time one panel asks for."""

    vehicle_correlation: float
    panel_setup_minutes: float
    setup_sigma: float

    def __post_init__(self) -> None:
        share("vehicle_correlation", self.vehicle_correlation)
        not_negative("panel_setup_minutes", self.panel_setup_minutes)
        not_negative("setup_sigma", self.setup_sigma)
