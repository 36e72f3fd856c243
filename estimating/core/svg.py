"""The two pictures of an estimate, and all of them on one sheet."""

from __future__ import annotations

from estimating.core.result import Estimate
from estimating.core.svg_curve import HEIGHT as CURVE_HEIGHT
from estimating.core.svg_curve import curve_words, estimate_curve, finish_curve
from estimating.core.svg_strip import (
    HEIGHT,
    WIDTH,
    FilmScale,
    film_scale,
    film_strip,
    film_strips,
    strip_words,
)
from estimating.core.svgtext import PAPER, STYLESHEET, element, picture, text
from estimating.core.words import plain

__all__ = [
    "STYLESHEET",
    "FilmScale",
    "curve_words",
    "estimate_curve",
    "film_scale",
    "film_strip",
    "film_strips",
    "finish_curve",
    "sheet",
    "strip_words",
]

_NAME_HEIGHT = 18.0
_MARGIN = 12.0


def sheet(estimate: Estimate, unit: str | None = None) -> str:
    """All film strips of an estimate and its finish curve, one below the other."""
    y = _MARGIN
    body = ""
    for name, strip in film_strips(estimate, unit).items():
        body += text(_MARGIN, y + 13, plain(name), font_weight="600")
        y += _NAME_HEIGHT
        body += _placed(strip, y, HEIGHT)
        y += HEIGHT
    y += _MARGIN
    body += _placed(estimate_curve(estimate), y, CURVE_HEIGHT)
    height = y + CURVE_HEIGHT + _MARGIN
    ground = element("rect", x=0, y=0, width=WIDTH, height=height, fill=PAPER)
    desc = f"{len(estimate.panels)} film strips and the finish curve."
    return picture("estimate-sheet", WIDTH, height, "Estimate", desc, ground + body)


def _placed(inner: str, y: float, height: float) -> str:
    """A picture set into the sheet at a height."""
    return inner.replace("<svg ", f'<svg x="0" y="{y:.0f}" width="{WIDTH:.0f}"'
                         f' height="{height:.0f}" ', 1)  # fmt: skip
