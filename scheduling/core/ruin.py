"""Which jobs to take out of a plan together: those whose places could serve each other."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from scheduling.core.sketch import Sketch

Ruin = Callable[[Sketch, Random, int], list[str]]


def at_random(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """Any jobs."""
    return rng.sample(list(sketch.placed), count)


def costly(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """Jobs that cost much, mostly the late ones."""
    rank = {one: placed.cost * rng.random() for one, placed in sketch.placed.items()}
    return sorted(rank, key=rank.__getitem__, reverse=True)[:count]


def near_in_time(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """Jobs that are in the shop around one moment of some job's stay."""
    placed = sketch.placed
    pivot = placed[_pivot(sketch, rng)]
    middle = rng.randint(pivot.start, pivot.end)

    def distance(job_id: str) -> float:
        one = placed[job_id]
        away = max(one.start - middle, middle - one.end, 0)
        return away + rng.random() * (one.end - one.start)

    rank = {one: distance(one) for one in placed}
    return sorted(rank, key=rank.__getitem__)[:count]


def string_of_resource(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """Jobs that follow each other in one bay or with one person, around some job."""
    pivot = _pivot(sketch, rng)
    cell, mask = rng.choice(sketch.placed[pivot].taken)
    return _nearest(_users(sketch, cell), mask.bit_length(), count)


def strings_of_two(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """Strings on two resources that some job uses, which swap their jobs."""
    taken = sketch.placed[_pivot(sketch, rng)].taken
    found: dict[str, None] = {}
    for cell, mask in rng.sample(taken, min(2, len(taken))):
        part = _nearest(_users(sketch, cell), mask.bit_length(), -(-count // 2))
        found.update(dict.fromkeys(part))
    return list(found)[:count]


def late_and_in_its_way(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """A costly job and jobs that end earlier but within its time since release."""
    pivot = _pivot(sketch, rng)
    end = sketch.placed[pivot].end
    release = sketch.timetable.routes[pivot].release
    rank = {
        one: rng.random()
        for one, placed in sketch.placed.items()
        if one != pivot and placed.end > release and placed.start < end
    }
    return [pivot, *sorted(rank, key=rank.__getitem__)[: count - 1]]


RUINS: tuple[Ruin, ...] = (
    at_random,
    costly,
    near_in_time,
    string_of_resource,
    strings_of_two,
    late_and_in_its_way,
)


def neighbours(sketch: Sketch, rng: Random, count: int) -> list[str]:
    """Jobs for a model: near in time, or on the same resources; those without a place first."""
    jobs = [job.id for job in sketch.week.jobs]
    missing = [job_id for job_id in jobs if job_id not in sketch.placed][:2]
    if not sketch.placed:
        return missing
    ruin = rng.choice((near_in_time, string_of_resource, strings_of_two, late_and_in_its_way))
    return [*missing, *ruin(sketch, rng, min(count, len(sketch.placed)))][:count]


def _pivot(sketch: Sketch, rng: Random) -> str:
    """Choose a job, costly ones more often."""
    jobs = list(sketch.placed)
    one, two = rng.choice(jobs), rng.choice(jobs)
    return one if sketch.placed[one].cost >= sketch.placed[two].cost else two


def _users(sketch: Sketch, cell: int) -> list[tuple[int, str]]:
    return [
        (mask.bit_length(), job_id)
        for job_id, placed in sketch.placed.items()
        for other, mask in placed.taken
        if other == cell
    ]


def _nearest(users: list[tuple[int, str]], moment: int, count: int) -> list[str]:
    found: dict[str, None] = {}
    for _, job_id in sorted(users, key=lambda one: (abs(one[0] - moment), one[1])):
        found[job_id] = None
        if len(found) == count:
            break
    return list(found)
