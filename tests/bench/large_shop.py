"""An invented large shop and its bookings, for the figures of the earliest fit.

Twenty bays, twenty-four people, lamps and parking. A stretch of weeks is filled by the
earliest fit itself until correction is about three quarters full, and a long calendar is such
stretches one after another: a hundred thousand bookings cannot be placed one by one here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Chain
from scheduling.core.freeindex import FreeIndex, Lamp, Resources, Technician
from scheduling.core.problem import Mode, Operation, Spot
from scheduling.core.values import Window

GRID = 5
DAY, WEEK = 24 * 60, 7 * 24 * 60
STRETCH_BOOKINGS, STRETCH_WEEKS = 500, 20
"""So that the bays of correction are held about three quarters of the time."""
STRETCHES = 2
"""Different ones, laid in turn."""
Taken = tuple[str, int, int]


@dataclass(frozen=True)
class LargeShop:
    """Resources over so many bookings, and what is held by resource."""

    resources: Resources
    busy: dict[str, list[Window]]

    def index(self) -> FreeIndex:
        """Return the free time, made anew."""
        return FreeIndex(self.resources, self.busy)


def weekly(weeks: int, *hours: tuple[float, float]) -> tuple[Window, ...]:
    """Return windows from Monday to Saturday."""
    return tuple(
        (week * WEEK + day * DAY + int(a * 60), week * WEEK + day * DAY + int(b * 60))
        for week in range(weeks)
        for day in range(6)
        for a, b in hours
    )


def resources(weeks: int) -> Resources:
    """Return the shop for so many weeks."""
    early = weekly(weeks, (7, 11.5), (12, 16))
    late = weekly(weeks, (10.5, 14), (14.5, 19))
    skills = ("wash", "polish"), ("polish",), ("coat",), ("polish",), ("polish", "coat"), ("wash",)
    bays = [*["wash"] * 2, *["correction"] * 8, *["coating"] * 10]
    return Resources(
        GRID,
        weeks * WEEK,
        (
            *(Spot(f"bay {k}", frozenset({cap, "any"})) for k, cap in enumerate(bays)),
            *(Spot(f"lot {k}", park=True) for k in range(10)),
        ),
        tuple(
            Technician(f"tech {k}", late if k // 6 % 2 else early, frozenset(skills[k % 6]))
            for k in range(24)
        ),
        tuple(Lamp(f"lamp {k}") for k in range(8)),
        weekly(weeks, (7, 19)),
    )


def chain(rng: Random) -> Chain:
    """Return eight operations: pauses, stays, lamps and a recoat window."""

    def op(
        name: str, cap: str, skill: str | None, dur: int, **more: int | bool | None
    ) -> Operation:
        lamps = int(more.pop("lamps", 0) or 0)
        crew = 1 if skill else 0
        modes = (Mode(dur, lamps),)
        return Operation(name, cap, modes, crew=crew, skill=skill, **more)  # type: ignore[arg-type]

    return Chain(
        (
            op("wash", "wash", "wash", 60),
            op("mask", "correction", "polish", 30, pausable=True),
            op("cut", "correction", "polish", 5 * rng.randrange(60, 120), pausable=True),
            op("refine", "correction", "polish", 5 * rng.randrange(12, 40), pausable=True),
            op("wipe", "correction", "polish", 40, pausable=True),
            op("coat", "coating", "coat", 100),
            op("recoat", "coating", "coat", 70, lamps=1, lag_min=60, lag_max=240, same_spot=True),
            op("cure", "coating", None, 720, lag_max=0, same_spot=True),
        )
    )


def stretch(rng: Random) -> list[Taken]:
    """Return what a stretch of weeks full of bookings holds."""
    index = FreeIndex(resources(STRETCH_WEEKS))
    taken: list[Taken] = []
    for number in range(STRETCH_BOOKINGS):
        day = number * (STRETCH_WEEKS - 1) * 7 // STRETCH_BOOKINGS
        at = day * DAY + rng.randrange(3 * DAY)
        fit = earliest_fit(chain(rng), index, not_before=at)
        if not fit.found:
            raise RuntimeError(f"booking {number} found no place: {fit.reasons}")
        for hold in fit.holds:
            index.add(hold.resource, hold.start, hold.end)
            taken.append((hold.resource, hold.start, hold.end))
    return taken


def stretches(seed: int = 11) -> list[list[Taken]]:
    """Return the different stretches."""
    rng = Random(seed)  # noqa: S311 -- invented bookings
    return [stretch(rng) for _ in range(STRETCHES)]


def laid(parts: list[list[Taken]], bookings: int) -> Iterator[Taken]:
    """Yield the holds of so many bookings (a multiple of a stretch), stretch after stretch."""
    for number in range(bookings // STRETCH_BOOKINGS):
        shift = number * STRETCH_WEEKS * WEEK
        for resource, start, end in parts[number % len(parts)]:
            yield resource, start + shift, end + shift


def large_shop(parts: list[list[Taken]], bookings: int) -> LargeShop:
    """Return the shop with so many bookings."""
    weeks = bookings // STRETCH_BOOKINGS * STRETCH_WEEKS + 4
    busy: dict[str, list[Window]] = {}
    for resource, start, end in laid(parts, bookings):
        busy.setdefault(resource, []).append((start, end))
    return LargeShop(resources(weeks), busy)
