"""The film strip: one panel as a scale of film thickness.

Ticks are readings, longer ones the mean of each spot, the heavy line is the floor,
the stippled band the reserve, the arrow what the plan takes, the bracket what it
leaves (P5 to P95), a tick with a foot a reading at the bottom of a mark.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from estimating.core.catalogue_prior import FilmPolicy
from estimating.core.result import Estimate, PanelPlan
from estimating.core.svgtext import ACCENT, INK, INK_SOFT, LINE, element, line, picture, text
from estimating.core.units import film_text, from_um, to_um
from estimating.core.words import plain

WIDTH = 640.0
HEIGHT = 72.0
_LEFT, _RIGHT = 12.0, 628.0
_AXIS_Y = 56.0
_BAND_TOP, _BAND_BOTTOM = 18.0, 50.0
_STEPS = {"mil": (0.5, 1.0, 2.0), "um": (10.0, 25.0, 50.0)}
_MOST_STEPS = 10
_ROOM = 0.6  # share of a step left free beside the outermost thing drawn


@dataclass(frozen=True, slots=True)
class FilmScale:
    """A scale shared by all strips of a vehicle, in micrometres."""

    low_um: float
    high_um: float
    step_um: float
    unit: str

    def x(self, film_um: float) -> float:
        """Where a thickness stands, held inside the strip."""
        share = (film_um - self.low_um) / (self.high_um - self.low_um)
        return _LEFT + min(max(share, 0.0), 1.0) * (_RIGHT - _LEFT)


def film_scale(panels: Iterable[PanelPlan], policy: FilmPolicy, unit: str) -> FilmScale:
    """One scale for all panels; refinished ones do not stretch it."""
    shown = [policy.floor_um, policy.floor_um + policy.reserve_um]
    for panel in panels:
        if panel.film is None or panel.condition == "refinished":
            continue
        shown += [reading for spot in panel.film.spots for reading in spot.kept]
        if panel.remainder:
            shown += [panel.remainder.p05_um, panel.remainder.p95_um]
        shown += [d.local_reading_um for d in panel.defects if d.local_reading_um is not None]
    low, high = min(shown), max(shown)
    steps = [to_um(step, unit) for step in _STEPS[unit]]
    step = next((s for s in steps if (high - low) / s <= _MOST_STEPS), steps[-1])
    return FilmScale(
        math.floor((low - _ROOM * step) / step) * step,
        math.ceil((high + _ROOM * step) / step) * step,
        step,
        unit,
    )


def film_strips(estimate: Estimate, unit: str | None = None) -> dict[str, str]:
    """All strips of an estimate on one scale, by panel name."""
    scale = film_scale(estimate.panels, estimate.policy, unit or estimate.unit)
    return {panel.panel: film_strip(panel, estimate.policy, scale) for panel in estimate.panels}


def film_strip(panel: PanelPlan, policy: FilmPolicy, scale: FilmScale) -> str:
    """Draw the strip of one panel.

    Parameters
    ----------
    panel
        The panel of an estimate.
    policy
        Floor and reserve to draw.
    scale
        From `film_scale`, the same for every panel of the vehicle.
    """
    body = _floor(panel, policy, scale)
    if panel.film is None:
        body += text(WIDTH / 2, 36, "no gauge reading: film unknown", text_anchor="middle")
    elif panel.condition == "refinished":
        body += _broken()
    else:
        body += _readings(panel, scale) + _plan(panel, scale)
    title = f"Film strip, {plain(panel.panel)}"
    return picture("film-strip", WIDTH, HEIGHT, title, strip_words(panel, policy, scale.unit), body)


def strip_words(panel: PanelPlan, policy: FilmPolicy, unit: str) -> str:
    """Say in words what a strip shows, for a reader who cannot see it."""
    floor = f"floor {film_text(policy.floor_um, unit)}"
    if panel.film is None:
        return f"No gauge reading, film unknown; {floor}."
    range_read = (
        f"spots from {film_text(panel.film.lowest_um, unit)} to"
        f" {film_text(panel.film.highest_um, unit)}"
    )
    if panel.condition == "refinished":
        return f"Refinished: clear coat unknown; {range_read}; {floor}."
    said = f"{range_read}; {floor}, reserve {film_text(policy.reserve_um, unit)}; "
    if panel.remainder is None or not panel.removal_um:
        return f"{said}nothing is taken from the panel."
    return (
        f"{said}planned: takes {film_text(panel.removal_um, unit)}, leaves"
        f" {film_text(panel.remainder.p05_um, unit)} to"
        f" {film_text(panel.remainder.p95_um, unit)}."
    )


def _floor(panel: PanelPlan, policy: FilmPolicy, scale: FilmScale) -> str:
    """Axis with its figures, floor and reserve."""
    parts = [line(_LEFT, _AXIS_Y, _RIGHT, _AXIS_Y, stroke=LINE, class_="axis")]
    count = round((scale.high_um - scale.low_um) / scale.step_um)
    for index in range(count + 1):
        value_um = scale.low_um + index * scale.step_um
        x = scale.x(value_um)
        parts.append(line(x, _AXIS_Y, x, _AXIS_Y + 4, stroke=LINE, class_="axis"))
        if 0 < index < count:
            figure = (
                f"{from_um(value_um, scale.unit):.1f}"
                if scale.unit == "mil"
                else (f"{value_um:.0f}")
            )
            parts.append(
                text(x, _AXIS_Y + 15, figure, text_anchor="middle", font_size=11,
                     fill=INK_SOFT, class_="soft")
            )  # fmt: skip
    floor_x, reserve_x = scale.x(policy.floor_um), scale.x(policy.floor_um + policy.reserve_um)
    pattern = f"reserve-{panel.panel}"
    dot = element("circle", cx=2, cy=2, r=1, fill=INK_SOFT, class_="dot")
    parts.append(
        element("defs", element("pattern", dot, id=pattern, width=5, height=5,
                                patternUnits="userSpaceOnUse"))
    )  # fmt: skip
    parts.append(
        element("rect", x=floor_x, y=_BAND_TOP, width=max(reserve_x - floor_x, 0.0),
                height=_BAND_BOTTOM - _BAND_TOP, fill=f"url(#{pattern})", class_="reserve")
    )  # fmt: skip
    parts.append(line(floor_x, _BAND_TOP - 6, floor_x, _AXIS_Y, stroke_width=3, class_="floor"))
    parts.append(text(floor_x - 4, _BAND_TOP - 6, "floor", text_anchor="end", font_size=11))
    return "".join(parts)


def _broken() -> str:
    """A scale torn in two, for film of unknown make-up."""
    middle = WIDTH * 0.8
    tear = f"M{middle - 6:.0f} {_AXIS_Y + 6:.0f} l6 -12 l6 12 l6 -12"
    return element("path", d=tear, fill="none", stroke=INK, class_="axis") + text(
        WIDTH / 2, 36, "refinished: clear coat unknown", text_anchor="middle"
    )


def _readings(panel: PanelPlan, scale: FilmScale) -> str:
    parts: list[str] = []
    film = panel.film
    assert film is not None
    for spot in film.spots:
        for reading in spot.kept:
            x = scale.x(reading)
            parts.append(line(x, 20, x, 32, stroke_width=1, class_="reading"))
        x = scale.x(spot.mean_um)
        parts.append(line(x, 20, x, 40, stroke_width=2, class_="reading"))
    for defect in panel.defects:
        if defect.local_reading_um is not None:
            x = scale.x(defect.local_reading_um)
            parts.append(line(x, 20, x, 40, stroke_width=1.5, class_="local"))
            parts.append(line(x - 4, 40, x + 4, 40, stroke_width=1.5, class_="local"))
    return "".join(parts)


def _plan(panel: PanelPlan, scale: FilmScale) -> str:
    """Arrow from the film now to the film after, and the bracket of what is left."""
    left = panel.remainder
    if left is None or not panel.removal_um:
        return ""
    before, after = scale.x(left.mean_um + panel.removal_um), scale.x(left.mean_um)
    low, high = scale.x(left.p05_um), scale.x(left.p95_um)
    y, foot = 46.0, 51.0
    arrow = f"M{before:.1f} {y - 4:.0f} V{y + 4:.0f} M{before:.1f} {y:.0f} H{after:.1f}"
    head = f"M{after + 5:.1f} {y - 3:.0f} L{after:.1f} {y:.0f} L{after + 5:.1f} {y + 3:.0f}"
    bracket = f"M{low:.1f} {foot - 3:.0f} V{foot:.0f} H{high:.1f} V{foot - 3:.0f}"
    return element(
        "path", d=f"{arrow} {head}", fill="none", stroke=ACCENT, stroke_width=1.5, class_="takes"
    ) + element("path", d=bracket, fill="none", stroke=ACCENT, stroke_width=2, class_="leaves")
