"""The finish curve: money across, share of defects cleared up."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal

from estimating.core.result import CurvePoint, Estimate
from estimating.core.svgtext import ACCENT, INK_SOFT, LINE, element, line, picture, text

WIDTH = 640.0
HEIGHT = 320.0
_LEFT, _RIGHT = 52.0, 620.0
_TOP, _BOTTOM = 24.0, 276.0
_MONEY_STEPS = (1, 2, 5)
_MOST_MARKS = 8
_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)


def finish_curve(points: Sequence[CurvePoint], currency: str, cap: Decimal | None = None) -> str:
    """Draw the plans that nothing beats.

    Parameters
    ----------
    points
        The steps of the curve, cheapest first; the chosen one is ringed.
    currency
        Written beside the money axis.
    cap
        A price the caller does not want to pass, drawn as a fold line.
    """
    dearest = max([point.price for point in points] + [cap or Decimal(0), Decimal(1)])
    step = money_step(dearest)
    most = step * (dearest / step).to_integral_value(ROUND_CEILING)
    body = _axes(step, most, currency)
    body += _limit(points) + _steps(points, most)
    if cap is not None:
        x = _x(cap, most)
        body += line(x, _TOP, x, _BOTTOM, stroke_dasharray="8 4 2 4", class_="cap")
        body += text(x + 4, _TOP + 12, f"cap {cap:,}", font_size=11)
    return picture(
        "finish-curve", WIDTH, HEIGHT, "Finish curve", curve_words(points, currency), body
    )


def estimate_curve(estimate: Estimate) -> str:
    """Draw the finish curve of an estimate with its cap."""
    return finish_curve(estimate.curve, estimate.currency, estimate.goal.price_cap)


def curve_words(points: Sequence[CurvePoint], currency: str) -> str:
    """Say in words what the curve shows."""
    if not points:
        return "No plan."
    said = f"{len(points)} plans, from {currency} {points[0].price:,} to {points[-1].price:,}."
    for point in points:
        if point.chosen:
            said += f" Chosen: {currency} {point.price:,} clears {point.cleared:.0%}."
    return f"{said} The film allows at most {points[-1].cleared:.0%}."


def money_step(dearest: Decimal) -> Decimal:
    """A round step of money that gives no more than a few marks."""
    size = Decimal(1)
    while True:
        for factor in _MONEY_STEPS:
            if dearest / (size * factor) <= _MOST_MARKS:
                return size * factor
        size *= 10


def _x(price: Decimal, most: Decimal) -> float:
    return _LEFT + float(price / most) * (_RIGHT - _LEFT)


def _y(cleared: float) -> float:
    return _BOTTOM - cleared * (_BOTTOM - _TOP)


def _axes(step: Decimal, most: Decimal, currency: str) -> str:
    parts = []
    for cleared in _SHARES:
        y = _y(cleared)
        parts.append(line(_LEFT, y, _RIGHT, y, stroke=LINE, class_="axis"))
        parts.append(
            text(_LEFT - 6, y + 4, f"{cleared:.0%}", text_anchor="end", font_size=11,
                 fill=INK_SOFT, class_="soft")
        )  # fmt: skip
    mark = Decimal(0)
    while mark <= most:
        x = _x(mark, most)
        parts.append(line(x, _BOTTOM, x, _BOTTOM + 5, stroke=LINE, class_="axis"))
        parts.append(
            text(x, _BOTTOM + 18, f"{mark:,.0f}", text_anchor="middle", font_size=11,
                 fill=INK_SOFT, class_="soft")
        )  # fmt: skip
        mark += step
    parts.append(text(_RIGHT, HEIGHT - 8, f"price, {currency}", text_anchor="end"))
    parts.append(text(_LEFT - 40, 14, "share of defects cleared"))
    return "".join(parts)


def _limit(points: Sequence[CurvePoint]) -> str:
    """The line that no plan crosses: what the film allows."""
    if not points:
        return ""
    y = _y(points[-1].cleared)
    return line(_LEFT, y, _RIGHT, y, stroke_dasharray="2 3", class_="limit") + text(
        _LEFT + 6, y - 4, "the film allows no more", font_size=11
    )


def _steps(points: Sequence[CurvePoint], most: Decimal) -> str:
    if not points:
        return ""
    path = f"M{_x(points[0].price, most):.1f} {_y(points[0].cleared):.1f}"
    for point in points[1:]:
        path += f" H{_x(point.price, most):.1f} V{_y(point.cleared):.1f}"
    parts = [element("path", d=path, fill="none", stroke=ACCENT, stroke_width=1.5, class_="step")]
    for index, point in enumerate(points):
        x, y = _x(point.price, most), _y(point.cleared)
        said = element("title", f"{point.price:,}: {point.cleared:.0%} cleared")
        parts.append(
            element(
                "circle", said, cx=x, cy=y, r=3, fill=ACCENT, class_="plan",
                data_index=str(index), data_price=str(point.price),
                data_cleared=f"{point.cleared:.4f}",
            )
        )  # fmt: skip
        if point.chosen:
            parts.append(
                element("circle", cx=x, cy=y, r=8, fill="none", stroke=ACCENT, stroke_width=2,
                        class_="ring")
            )  # fmt: skip
    return "".join(parts)
