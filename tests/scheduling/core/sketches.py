"""Sketches of invented weeks for tests of the search, and what must be true of them."""

from collections.abc import Sequence
from random import Random

from scheduling.core.board import Board
from scheduling.core.check import check_plan, score
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import week_resources
from scheduling.core.problem import Plan, Week
from scheduling.core.sketch import Sketch
from scheduling.core.timetable import Timetable


def timetable_of(week: Week) -> Timetable:
    """The week's timetable."""
    return Timetable(week, FreeIndex(week_resources(week)))


def sketch_of(week: Week, order: Sequence[str] | None = None, seed: int = 1) -> Sketch:
    """All jobs placed in an order, by default one from a seed."""
    if order is None:
        order = [job.id for job in week.jobs]
        Random(seed).shuffle(order)  # noqa: S311 -- test cases, not secrets
    sketch = Sketch(timetable_of(week))
    for job_id in order:
        sketch.insert(job_id)
    return sketch


def assert_sound(sketch: Sketch) -> Plan:
    """The plan passes the checker, costs what is said, and the board holds just its jobs."""
    plan = sketch.draft().plan()
    assert check_plan(sketch.week, plan) == []
    value, parts = score(sketch.week, plan)
    assert abs(value - sketch.standing.objective) < 1e-6 * max(1, value)
    assert parts.moves == sum(one.moves for one in sketch.placed.values())
    again = Board(sketch.timetable)
    for one in sketch.placed.values():
        again.take(one.taken)
    assert again.cells == sketch.board.cells
    return plan
