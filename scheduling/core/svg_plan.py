"""A plan as a picture: bays down, time across, a vehicle one ribbon through bays and nights.

Under the bays stand when each vehicle is ready, then crew and lamps as load lines: thin where
somebody is there, heavy where they are taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from estimating.core.svgtext import element, line, picture, text
from scheduling.core.check import Use
from scheduling.core.plan_axis import DAY_MINUTES, PlanAxis, plan_axis
from scheduling.core.plan_rows import Stay, Visit, duration, lanes, visits
from scheduling.core.plan_style import KEY_STEP, WORDS, definitions, key
from scheduling.core.problem import Plan, Week

LEFT, RIGHT_MARGIN = 104.0, 16.0
HEAD, AXIS = 48.0, 40.0
BAY, PARK, READY, CREW, LAMP = 44.0, 20.0, 18.0, 18.0, 16.0
GAP, FOOT = 18.0, 40.0
CHARACTER = 7.2
"""Width of a character of 12 px text, a little more than it mostly takes."""


@dataclass(frozen=True, slots=True)
class _Lane:
    y: float
    height: float

    @property
    def middle(self) -> float:
        return self.y + self.height / 2


@dataclass(frozen=True, slots=True)
class _Layout:
    axis: PlanAxis
    visits: tuple[Visit, ...]
    rows: Mapping[str, _Lane]
    placed: Mapping[Stay, _Lane]
    ready: tuple[tuple[int, Visit], ...]
    bays_end: float
    ready_end: float


def plan_svg(week: Week, plan: Plan) -> str:
    """Return a plan drawn as SVG text, for light and dark, without any script.

    A plan without a schedule is drawn as the empty shop, with its reasons.
    """
    layout = _layout(week, plan)
    reasons = [f"{reason}." for reason in plan.reasons]
    top = layout.ready_end + GAP
    loads, loads_end = _loads(week, plan, layout, top)
    low = loads_end + FOOT + 18 * len(reasons)
    words_end = [layout.axis.x(v.end) + _ready_width(v) for v in layout.visits]
    width = max([layout.axis.right, LEFT + KEY_STEP * len(WORDS), *words_end]) + RIGHT_MARGIN
    body = definitions()
    body += element("rect", width=width, height=low, fill="#f5f1e8", class_="ground")
    body += text(12, 26, headline(week, plan), font_size=16, font_weight="600")
    body += _ground(week, layout, loads_end) + _spots(week, layout)
    body += "".join(_links(visit, layout) for visit in layout.visits)
    body += "".join(_ribbon(visit, layout) for visit in layout.visits)
    body += _ready(layout) + loads + key(LEFT, loads_end + 14)
    for n, reason in enumerate(reasons):
        body += text(12, loads_end + FOOT + 18 * n + 8, _clean(f"× {reason}"), class_="stop")
    said = " ".join([*(f"{visit.words}." for visit in layout.visits), *reasons])
    desc = _clean(said or "No vehicle is placed.")
    return picture("week-plan", width, low, headline(week, plan), desc, body)


def headline(week: Week, plan: Plan) -> str:
    """Return in one line what the plan is worth and how many vehicles are late."""
    made = visits(week, plan)
    late = sum(visit.late > 0 for visit in made)
    judged = f"× {late} late" if late else "✓ none late"
    said = f"{week.name or 'Week'}: {plan.status.replace('_', ' ')}, {len(made)} vehicles"
    if made:
        said += f", {judged}"
    if plan.objective is not None and plan.bound is not None:
        said += f"; {plan.objective:,.0f} points, proven bound {plan.bound:,.0f}"
    return _clean(said)


def _layout(week: Week, plan: Plan) -> _Layout:
    axis = plan_axis(week, plan, LEFT)
    made = tuple(visits(week, plan))
    rows: dict[str, _Lane] = {}
    placed: dict[Stay, _Lane] = {}
    y = HEAD + AXIS
    for parking in (False, True):
        for spot in (one for one in week.spots if one.park == parking):
            spans = [
                (stay.start, stay.end, stay)
                for visit in made
                for stay in visit.stays
                if stay.spot == spot.id
            ]
            numbered = lanes(spans)
            height = PARK if parking else BAY
            count = max((lane + 1 for lane, _ in numbered), default=1)
            rows[spot.id] = _Lane(y, count * height)
            placed |= {stay: _Lane(y + lane * height, height) for lane, stay in numbered}
            y += count * height
        y += GAP if not parking else 0
    ready = lanes([(axis.x(v.end), axis.x(v.end) + _ready_width(v), v) for v in made])
    height = READY * max((lane + 1 for lane, _ in ready), default=1)
    return _Layout(axis, made, rows, placed, tuple(ready), y, y + GAP + height)


def _ground(week: Week, layout: _Layout, bottom: float) -> str:
    """Day and hour axis, and closed time shaded down to the last row."""
    axis, top = layout.axis, HEAD + AXIS
    body, at = "", 0
    for start, end in (*axis.open_spans, (axis.days * DAY_MINUTES,) * 2):
        if start > at and axis.open_spans:
            x = axis.x(at)
            body += element("rect", x=x, y=top, width=axis.x(start) - x, height=bottom - top,
                            fill="#e6dfcf", class_="night")  # fmt: skip
        at = end
    for day in range(axis.days):
        x = axis.x(day * DAY_MINUTES)
        body += line(x, HEAD, x, bottom, stroke="#d9d1bf", class_="rule")
        opens = next((a for a, _ in axis.open_spans if a // DAY_MINUTES == day), None)
        if opens is not None:
            body += text(axis.x(opens), HEAD + 14, f"day {day + 1}", font_weight="600")
    for span in axis.open_spans:
        for minute in axis.hours(span):
            x = axis.x(minute)
            body += line(x, top - 6, x, top, stroke="#d9d1bf", class_="there")
            body += text(x, top - 10, str(minute // 60 % 24), font_size=11,
                         text_anchor="middle", class_="soft")  # fmt: skip
    return body


def _spots(week: Week, layout: _Layout) -> str:
    """Name and line of each bay and parking spot, with its closures."""
    axis, body = layout.axis, ""
    for spot in week.spots:
        row = layout.rows[spot.id]
        body += _label(row, spot.id)
        foot = row.y + row.height
        body += line(LEFT, foot, axis.right, foot, stroke="#d9d1bf", class_="rule")
        for start, end in spot.closures:
            x, width = axis.x(start), axis.x(end) - axis.x(start)
            if width > 0:
                said = element("title", _clean(f"{spot.id} closed").translate(_ESCAPED))
                body += element("rect", said, x=x, y=row.y, width=width, height=row.height,
                                fill="url(#plan-closed)")  # fmt: skip
    return body


def _links(visit: Visit, layout: _Layout) -> str:
    """Where a vehicle is driven from one row to another."""
    body = ""
    for before, here in pairwise(visit.stays):
        x, a, b = layout.axis.x(here.start), layout.placed[before], layout.placed[here]
        body += line(x, a.middle, x, b.middle, stroke="#857d6c", stroke_width=1.5, class_="link")
    return element("g", body, class_=_class(visit)) if body else ""


def _ribbon(visit: Visit, layout: _Layout) -> str:
    """One vehicle wherever it stands, with its work drawn inside."""
    body = element("title", _clean(visit.words).translate(_ESCAPED))
    body += "".join(_stay(stay, visit, layout) for stay in visit.stays)
    return element("g", body, class_=_class(visit))


def _class(visit: Visit) -> str:
    return "late" if visit.late else "visit"


def _stay(stay: Stay, visit: Visit, layout: _Layout) -> str:
    axis, lane = layout.axis, layout.placed[stay]
    x, width = axis.x(stay.start), max(axis.x(stay.end) - axis.x(stay.start), 1.5)
    y, height = lane.y + 3, lane.height - 6
    border = 2 if visit.late else 1
    body = element("rect", x=x, y=y, width=width, height=height, fill="#fffdf7",
                   stroke="#1c1a17", stroke_width=border, class_="stay")  # fmt: skip
    wide = lane.height >= BAY
    for work in stay.work:
        a, b = axis.x(work.start), axis.x(work.end)
        inside = y + 16 if wide else y + 1
        body += element("rect", x=a, y=inside, width=max(b - a, 1.0),
                        height=y + height - inside - 1,
                        fill=f"url(#plan-{work.kind})")  # fmt: skip
    name = _clean(f"× {stay.job.id}" if visit.late else stay.job.id)
    if (wide or not stay.work) and width >= CHARACTER * len(name):
        body += text(x + 3, y + 11, name, font_size=11, class_="stop" if visit.late else "name")
    return body


def _ready_words(visit: Visit) -> str:
    return f"× {visit.job.id} late {duration(visit.late)}" if visit.late else f"✓ {visit.job.id}"


def _ready_width(visit: Visit) -> float:
    return CHARACTER * (len(_ready_words(visit)) + 1)


def _ready(layout: _Layout) -> str:
    """A mark for each vehicle at the moment it is ready, with a word where it is late."""
    top = layout.bays_end + GAP
    body = _label(_Lane(top, READY), "ready")
    for lane, visit in layout.ready:
        x, y = layout.axis.x(visit.end), top + lane * READY
        body += line(x, y + 3, x, y + READY - 3, stroke_width=1.5, stroke="#857d6c", class_="there")
        style = "stop" if visit.late else "soft"
        body += text(x + 3, y + 13, _clean(_ready_words(visit)), class_=style)
    return body


def _loads(week: Week, plan: Plan, layout: _Layout, top: float) -> tuple[str, float]:
    """Load lines of crew and lamps, and where they end."""
    axis, body, y = layout.axis, "", top
    for one in week.crew:
        row = _Lane(y, CREW)
        body += _label(row, one.id)
        for start, end in week.calendars[one.calendar]:
            if axis.x(end) > axis.x(start):
                body += line(axis.x(start), row.middle, axis.x(end), row.middle,
                             stroke="#857d6c", class_="there")  # fmt: skip
        for op_id, placed in plan.ops.items():
            if one.id in placed.crew:
                for start, end in placed.pieces:
                    body += _bar(axis, start, end, row.middle + 3.5, 7, op_id)
        y += CREW
    if week.lamps:
        row = _Lane(y, LAMP + 10)
        body += _label(row, f"lamps ({week.lamps})")
        for start, end, level in _levels(_lit(week, plan)):
            said = f"{level} of {week.lamps} lamps"
            height = LAMP * min(1.0, level / week.lamps)
            body += _bar(axis, start, end, row.y + LAMP + 5, height, said)
        foot = row.y + LAMP + 5
        body += line(LEFT, foot, axis.right, foot, stroke="#857d6c", class_="there")
        y += LAMP + 10
    return body, y


def _bar(axis: PlanAxis, start: int, end: int, foot: float, height: float, said: str) -> str:
    x = axis.x(start)
    title = element("title", _clean(said).translate(_ESCAPED))
    return element("rect", title, x=x, y=foot - height, width=max(axis.x(end) - x, 1.0),
                   height=height, fill="#1d6b61", class_="taken")  # fmt: skip


def _lit(week: Week, plan: Plan) -> list[Use]:
    return [
        Use(
            "lamps",
            placed.start,
            placed.end,
            op_id,
            week.operations[op_id].modes[placed.mode].lamps,
        )
        for op_id, placed in plan.ops.items()
        if week.operations[op_id].modes[placed.mode].lamps
    ]


def _levels(uses: list[Use]) -> list[tuple[int, int, int]]:
    """Return how many are used between any two changes: start, end, units; zeros left out."""
    moments = sorted({use.start for use in uses} | {use.end for use in uses})
    found = []
    for start, end in pairwise(moments):
        level = sum(use.units for use in uses if use.start <= start < use.end)
        if level:
            found.append((start, end, level))
    return found


def _label(row: _Lane, words: str) -> str:
    shown = _clean(words)
    shown = shown if len(shown) <= 13 else shown[:12] + "…"
    return text(12, row.y + min(row.height, BAY) / 2 + 4, shown, class_="name")


_ESCAPED = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})


def _clean(words: str) -> str:
    """Return a text without the characters that XML or UTF-8 cannot hold."""
    return "".join(c if c.isprintable() else "�" for c in words)
