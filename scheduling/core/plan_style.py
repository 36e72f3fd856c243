"""Colours and patterns of a plan's picture, light and dark, inside the picture itself."""

from __future__ import annotations

from estimating.core.svgtext import element, text
from scheduling.core.plan_rows import KINDS

WORDS = {
    "wash": "wash",
    "correction": "correction",
    "spot": "spot work",
    "coating": "coating",
    "cure": "cure",
    "other": "other work",
    "waiting": "waiting",
    "closed": "closed",
}
STYLE = """
.week-plan { --paper: #f5f1e8; --raised: #fffdf7; --sunk: #e6dfcf; --rule: #d9d1bf;
  --line: #857d6c; --ink: #1c1a17; --soft: #595347; --accent: #1d6b61; --stop: #9c241c;
  --wash: #cfdfe9; --correction: #d5e6d3; --spot: #efdcc0; --coating: #d9d4ec; --cure: #ecd5dc;
  --mark: #3f3a31; background: var(--paper); }
@media (prefers-color-scheme: dark) {
  .week-plan { --paper: #181714; --raised: #22201c; --sunk: #0c0b0a; --rule: #3b372e;
    --line: #8a8271; --ink: #f2eee4; --soft: #bab3a3; --accent: #74c7b8; --stop: #f59d92;
    --wash: #2b4557; --correction: #2e4a2d; --spot: #56401f; --coating: #3f3862;
    --cure: #552f3b; --mark: #d8d0be; }
}
.week-plan text { fill: var(--ink); font-variant-numeric: tabular-nums; }
.week-plan .soft { fill: var(--soft); }
.week-plan .stop { fill: var(--stop); font-weight: 600; }
.week-plan .ground { fill: var(--paper); }
.week-plan .rule { stroke: var(--rule); }
.week-plan .night { fill: var(--sunk); }
.week-plan .shut { stroke: var(--line); }
.week-plan .stay { fill: var(--raised); stroke: var(--ink); }
.week-plan .late .stay { stroke: var(--stop); }
.week-plan .link { stroke: var(--line); fill: none; }
.week-plan .late .link { stroke: var(--stop); }
.week-plan .there { stroke: var(--line); }
.week-plan .taken { fill: var(--accent); }
.week-plan .mark { stroke: var(--mark); fill: none; }
.week-plan .dot { fill: var(--mark); stroke: none; }
.week-plan .wash { fill: var(--wash); } .week-plan .correction { fill: var(--correction); }
.week-plan .spot { fill: var(--spot); } .week-plan .coating { fill: var(--coating); }
.week-plan .cure { fill: var(--cure); } .week-plan .other { fill: var(--sunk); }
"""
# Colour, side of the pattern and what is drawn on it; a viewer without style sheets sees these.
_PATTERNS = {
    "wash": ("#cfdfe9", 6, "M0 3.5H6"),
    "correction": ("#d5e6d3", 6, ""),
    "spot": ("#efdcc0", 6, "dots"),
    "coating": ("#d9d4ec", 8, "M-2 2L2 -2M0 8L8 0M6 10L10 6"),
    "cure": ("#ecd5dc", 4, "M0 0L4 4M4 0L0 4"),
    "other": ("#e6dfcf", 6, "M3 0V6"),
}
KEY_STEP = 104.0


def definitions() -> str:
    """Return the style sheet and the patterns of the kinds of work."""
    patterns = "".join(_pattern(kind) for kind in KINDS)
    stripes = element("path", d="M0 6L6 0", stroke="#857d6c", stroke_width=1, class_="shut")
    patterns += element(
        "pattern", stripes, id="plan-closed", width=6, height=6, patternUnits="userSpaceOnUse"
    )
    return element("style", STYLE) + element("defs", patterns)


def _pattern(kind: str) -> str:
    colour, side, drawn = _PATTERNS[kind]
    body = element("rect", width=side, height=side, fill=colour, class_=kind)
    if drawn == "dots":
        for at in (1.5, 4.5):
            body += element("circle", cx=at, cy=at, r=0.9, fill="#3f3a31", class_="dot")
    elif drawn:
        body += element("path", d=drawn, stroke="#3f3a31", stroke_width=0.8, fill="none",
                        class_="mark")  # fmt: skip
    return element(
        "pattern", body, id=f"plan-{kind}", width=side, height=side, patternUnits="userSpaceOnUse"
    )


def key(left: float, y: float) -> str:
    """Return the line that says which pattern is which kind of work."""
    body = ""
    for n, (kind, words) in enumerate(WORDS.items()):
        x = left + n * KEY_STEP
        fill = "none" if kind == "waiting" else f"url(#plan-{kind})"
        body += element("rect", x=x, y=y, width=22, height=14, fill=fill, stroke="#857d6c",
                        class_="there")  # fmt: skip
        body += text(x + 28, y + 11, words, class_="soft")
    return body
