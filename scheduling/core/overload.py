"""Say why jobs that can each be done alone cannot all be done in one week."""

from __future__ import annotations

from scheduling.core.problem import Operation, Week
from scheduling.core.worktime import common


def not_together(week: Week) -> list[str]:
    """Return which bays or skills have too little time before the horizon, else the horizon.

    Counted is what is sure: the shortest way to do each operation in the bays that can do it, and
    by the people who have its skill. Called where a proof says that the jobs do not fit.
    """
    found = [
        f"the bays for “{cap}” have {there} minutes before the horizon, the jobs need {needed}"
        for cap in sorted({op.spot_cap for op in week.operations.values()})
        for needed, there in [_bays(week, cap)]
        if needed > there
    ]
    found += [
        f"the people with “{skill}” have {there} minutes before the horizon, the jobs need {needed}"
        for skill in sorted({op.skill for op in week.operations.values() if op.skill})
        for needed, there in [_people(week, skill)]
        if needed > there
    ]
    end = f"before the horizon (minute {week.horizon})"
    return found or [f"each job can be done alone, but not all of them together {end}"]


def _shortest(op: Operation) -> int:
    return min(mode.dur for mode in op.modes)


def _bays(week: Week, cap: str) -> tuple[int, int]:
    needed = sum(_shortest(op) for op in week.operations.values() if op.spot_cap == cap)
    whole = [(0, week.horizon)]
    there = 0
    for spot in week.spots:
        if cap in spot.caps:
            closed = sum(end - start for start, end in common(spot.closures, whole))
            there += spot.capacity * (week.horizon - closed)
    return needed, there


def _people(week: Week, skill: str) -> tuple[int, int]:
    ops = (op for op in week.operations.values() if op.skill == skill)
    needed = sum(op.crew * _shortest(op) for op in ops)
    whole = [(0, week.horizon)]
    there = sum(
        end - start
        for one in week.crew
        if skill in one.skills
        for start, end in common(week.calendars[one.calendar], whole)
    )
    return needed, there
