"""Random invented weeks of a small shop, for tests and measurements.

``python -m tests.scheduling.core.weeks JOBS SEED`` prints one as ``halfmil-week/1``.
"""

import json
import random
import sys
from typing import Any

from scheduling.core.formats import week_to_data
from scheduling.core.problem import CrewMember, Job, Mode, Operation, Spot, Week
from scheduling.core.values import Window

DAY = 1440


def _daily(days: int, *windows: Window, saturday: bool = False) -> tuple[Window, ...]:
    return tuple(
        (day * DAY + start, day * DAY + end)
        for day in range(days)
        if day % 7 < 5 or (saturday and day % 7 == 5)
        for start, end in windows
    )


def _wash(job: str) -> list[Operation]:
    common: dict[str, Any] = {"spot_cap": "wash", "crew": 1, "skill": "wash"}
    return [
        Operation(f"{job}.wash", modes=(Mode(60),), name="prep wash", open_hours=True, **common),
        Operation(f"{job}.clay", modes=(Mode(30),), name="panel wipe", same_spot=True, **common),
    ]


def _polish(job: str, rng: random.Random) -> list[Operation]:
    passes = rng.choice([1, 1, 2])
    return [
        Operation(
            f"{job}.pass{k}",
            "correct",
            (Mode(15 * rng.randint(8, 28)),),
            crew=rng.choice([1, 1, 1, 2]),
            skill="correct",
            name="correction pass",
            pausable=True,
            same_spot=k > 0,
        )
        for k in range(passes)
    ]


def _coat(job: str) -> list[Operation]:
    common: dict[str, Any] = {"spot_cap": "coat", "crew": 1, "skill": "coat"}
    return [
        Operation(f"{job}.coat1", modes=(Mode(60),), name="first layer", **common),
        Operation(
            f"{job}.coat2",
            modes=(Mode(45),),
            name="second layer",
            same_spot=True,
            lag_min=60,
            lag_max=240,
            **common,
        ),
        Operation(
            f"{job}.cure",
            "cure",
            (Mode(720), Mode(240, lamps=1)),
            name="cure",
            lag_max=30,
        ),
    ]


def _job(number: int, days: int, rng: random.Random) -> Job:
    job = f"J{number}"
    ops = _wash(job) + _polish(job, rng)
    if rng.random() < 0.6:
        ops += _coat(job)
    ops.append(
        Operation(
            f"{job}.check",
            "check",
            (Mode(30),),
            crew=1,
            skill="check",
            name="final check",
            open_hours=True,
        )
    )
    release = rng.randrange(days) * DAY + 15 * rng.randint(32, 40)
    work = sum(op.modes[0].dur for op in ops)
    return Job(
        job,
        tuple(ops),
        release=release,
        due=release + 15 * (work * rng.randint(15, 35) // 150),
        weight=rng.randint(1, 3),
        kind="coating" if len(ops) > 5 else "polish",
    )


def random_week(jobs: int, seed: int, days: int | None = None) -> Week:
    """Return an invented week with so many jobs; about as busy whatever their number."""
    rng = random.Random(seed)  # noqa: S311 -- test cases, not secrets
    days = days or 14 + jobs * 7 // 5
    spots = (
        Spot("wash", frozenset({"wash"})),
        Spot("bay1", frozenset({"correct"})),
        Spot("bay2", frozenset({"correct"})),
        Spot("booth", frozenset({"coat", "cure", "check"})),
        Spot("covered", frozenset({"cure", "check"}), capacity=2, park=True),
        Spot("lot", frozenset({"check"}), capacity=3, park=True),
    )
    crew = (
        CrewMember("T1", "early", frozenset({"wash", "correct"})),
        CrewMember("T2", "early", frozenset({"correct", "coat"})),
        CrewMember("T3", "late", frozenset({"correct", "check"})),
        CrewMember("T4", "late", frozenset({"wash", "coat", "check"})),
    )
    return Week(
        grid=15,
        horizon=days * DAY,
        spots=spots,
        crew=crew,
        calendars={
            "early": _daily(days, (420, 570), (585, 720), (750, 930)),
            "late": _daily(days, (600, 780), (810, 960), (975, 1110)),
        },
        opening=_daily(days, (480, 1080), saturday=True),
        lamps=1,
        jobs=tuple(_job(number, max(1, days - 14), rng) for number in range(1, jobs + 1)),
        name=f"random_{jobs:03}_{seed}",
        seed=seed,
    )


if __name__ == "__main__":
    week = random_week(int(sys.argv[1]), int(sys.argv[2]))
    sys.stdout.write(json.dumps(week_to_data(week), indent=1) + "\n")
