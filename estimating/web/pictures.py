"""Where things stand in our two pictures: the film strip and the finish curve.

Only geometry; the templates draw. Across is in percent of the width, so that a
strip fits any screen with its letters at full size, and every strip of a vehicle
has one scale, so that they can be compared down the page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from estimating.core.result import CurvePoint, Estimate, PanelPlan
from estimating.core.svg_curve import money_step
from estimating.core.svg_strip import FilmScale, film_scale
from estimating.core.units import from_um

_MOST_LINKS = 24


def percent(scale: FilmScale, film_um: float) -> float:
    """Where a thickness stands, in percent across, held inside the picture."""
    share = (film_um - scale.low_um) / (scale.high_um - scale.low_um)
    return round(100 * min(max(share, 0.0), 1.0), 3)


def ticks_of(scale: FilmScale) -> list[tuple[float, str]]:
    """Marks of a scale, without those at its ends: percent across and label."""
    count = round((scale.high_um - scale.low_um) / scale.step_um)
    digits = 1 if scale.unit == "mil" else 0
    marks = [scale.low_um + index * scale.step_um for index in range(1, count)]
    return [
        (percent(scale, mark_um), f"{from_um(mark_um, scale.unit):.{digits}f}") for mark_um in marks
    ]


@dataclass(frozen=True)
class Mark:
    """A tick at ``x`` percent; ``film_um`` is what it stands for."""

    x: float
    film_um: float


@dataclass(frozen=True)
class Strip:
    """One panel's film strip; None where a part has no place in it."""

    panel: str
    state: str
    ticks: list[tuple[float, str]]
    floor_x: float
    reserve_width: float
    readings: list[Mark]
    means: list[Mark]
    local: list[Mark]
    removal_from: float | None
    removal_to: float | None
    left_from: float | None
    left_to: float | None
    lowest_um: float | None
    highest_um: float | None


def strip_of(plan: PanelPlan, estimate: Estimate, scale: FilmScale) -> Strip:
    """Place one panel on the common scale."""
    policy = estimate.policy
    film = plan.film
    drawn = film is not None and plan.condition in ("original", "thin")
    readings: list[Mark] = []
    means: list[Mark] = []
    if film is not None and drawn:
        for spot in film.spots:
            readings += [
                Mark(percent(scale, value), value) for value in (*spot.kept, *spot.set_aside)
            ]
            means.append(Mark(percent(scale, spot.mean_um), spot.mean_um))
    local = [
        Mark(percent(scale, defect.local_reading_um), defect.local_reading_um)
        for defect in plan.defects
        if drawn and defect.local_reading_um is not None
    ]
    taken = drawn and film is not None and plan.removal_um > 0
    left = plan.remainder if drawn and plan.removal_um > 0 else None
    return Strip(
        panel=plan.panel,
        state=plan.condition,
        ticks=ticks_of(scale),
        floor_x=percent(scale, policy.floor_um),
        reserve_width=round(
            percent(scale, policy.floor_um + policy.reserve_um) - percent(scale, policy.floor_um), 3
        ),
        readings=readings,
        means=means,
        local=local,
        removal_from=percent(scale, film.mean_um) if taken and film else None,
        removal_to=percent(scale, film.mean_um - plan.removal_um) if taken and film else None,
        left_from=percent(scale, left.p05_um) if left else None,
        left_to=percent(scale, left.p95_um) if left else None,
        lowest_um=film.lowest_um if film else None,
        highest_um=film.highest_um if film else None,
    )


def strips_of(estimate: Estimate) -> dict[str, Strip]:
    """Strips of all panels by name."""
    scale = film_scale(estimate.panels, estimate.policy, estimate.unit)
    return {plan.panel: strip_of(plan, estimate, scale) for plan in estimate.panels}


@dataclass(frozen=True)
class Step:
    """A plan that nothing beats: where it stands, and what it costs and clears."""

    x: float
    y: float
    cleared: float
    percent: float
    price: Decimal
    chosen: bool
    link: bool
    to_x: float
    to_y: float


@dataclass(frozen=True)
class Curve:
    """The finish curve: money across in percent, share of defects up in pixels."""

    steps: list[Step]
    height: int
    base_y: float
    limit_y: float
    limit: float
    fold_x: float | None
    money_ticks: list[tuple[float, Decimal]]
    share_ticks: list[tuple[float, int]]


_HEIGHT, _TOP, _BASE = 232, 24.0, 200.0
_LEFT, _RIGHT = 11.0, 96.0
_MOST_MONEY_TICKS = 4  # more would run into one another on a phone


def curve_of(points: Sequence[CurvePoint], cap: Decimal | None = None) -> Curve | None:
    """Place the steps of a finish curve; None where there is nothing to choose."""
    if len(points) < 2:
        return None
    prices = [point.price for point in points]
    low, high = min(prices), max([*prices, cap] if cap else prices)
    span = float(high - low) or 1.0

    def x(price: Decimal) -> float:
        return round(_LEFT + (_RIGHT - _LEFT) * float(price - low) / span, 2)

    def y(cleared: float) -> float:
        return round(_BASE - (_BASE - _TOP) * min(max(cleared, 0.0), 1.0), 2)

    linked = _linked(points)
    steps = []
    for index, point in enumerate(points):
        following = points[min(index + 1, len(points) - 1)]
        steps.append(
            Step(
                x=x(point.price),
                y=y(point.cleared),
                cleared=point.cleared,
                # Rounded down: asking for it must find this plan, not the next.
                percent=math.floor(point.cleared * 1000 + 1e-9) / 10,
                price=point.price,
                chosen=point.chosen,
                link=index in linked,
                to_x=x(following.price),
                to_y=y(following.cleared),
            )
        )
    limit = max(point.cleared for point in points)
    fold = None if cap is None or cap < low else x(cap)
    step = money_step(high - low)
    first = (low / step).to_integral_value(ROUND_CEILING)
    last = (high / step).to_integral_value(ROUND_FLOOR)
    money = [step * part for part in range(int(first), int(last) + 1)]
    if len(money) > _MOST_MONEY_TICKS:
        money = money[::2]
    return Curve(
        steps=steps,
        height=_HEIGHT,
        base_y=_BASE,
        limit_y=y(limit),
        limit=limit,
        fold_x=fold,
        money_ticks=[(x(amount), amount) for amount in money],
        share_ticks=[(y(part / 100), part) for part in (0, 25, 50, 75, 100)],
    )


def _linked(points: Sequence[CurvePoint]) -> set[int]:
    """Which steps can be clicked: few enough for a finger, always ends and the chosen one."""
    last = len(points) - 1
    if last < _MOST_LINKS:
        return set(range(last + 1))
    spread = {round(last * part / (_MOST_LINKS - 1)) for part in range(_MOST_LINKS)}
    return spread | {index for index, point in enumerate(points) if point.chosen}
