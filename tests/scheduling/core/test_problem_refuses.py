"""A problem refuses bad values when it is made and says where, what and what would be right."""

from dataclasses import replace
from typing import Any

import pytest

from scheduling.core.problem import CrewMember, Frozen, Job, Mode, Operation, Spot, Week
from scheduling.core.values import ProblemError

OP = Operation("J1.1", "wash", (Mode(30),), crew=1, skill="wash")
WEEK = Week(
    grid=15,
    horizon=1440,
    spots=(Spot("W1", frozenset({"wash"})),),
    crew=(CrewMember("T1", "day", frozenset({"wash"})),),
    calendars={"day": ((480, 1020),)},
    jobs=(Job("J1", (OP,), due=600),),
)


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"grid": 7}, "grid"),
        ({"horizon": 0}, "horizon"),
        ({"horizon": 100}, "horizon"),
        ({"opening": ((480, 470),)}, "opening[0]"),
        ({"opening": ((480, 600), (540, 660))}, "opening[1]"),
        ({"opening": ((481, 600),)}, "opening[0][0]"),
        ({"spots": WEEK.spots * 2}, "spots[1].id"),
        ({"crew": (CrewMember("T1", "night"),)}, "crew[0].calendar"),
        ({"jobs": WEEK.jobs * 2}, "jobs[1].id"),
        ({"jobs": (Job("J1", (OP, OP)),)}, "jobs[0].ops[1].id"),
        ({"jobs": (Job("J1", (replace(OP, lag_min=5),)),)}, "jobs[0].ops[0].lag_min"),
        ({"jobs": (Job("J1", (replace(OP, modes=(Mode(20),)),)),)}, "jobs[0].ops[0].modes[0].dur"),
        ({"frozen": {"J9.9": Frozen()}}, "frozen.J9.9"),
        ({"frozen": {"J1.1": Frozen(spot="W9")}}, "frozen.J1.1.spot"),
        ({"frozen": {"J1.1": Frozen(crew=("T1", "T9"))}}, "frozen.J1.1.crew[1]"),
        ({"frozen": {"J1.1": Frozen(start=31)}}, "frozen.J1.1.start"),
    ],
)
def test_week(change: dict[str, Any], path: str) -> None:
    with pytest.raises(ProblemError) as refused:
        replace(WEEK, **change)
    assert refused.value.path == path
    assert refused.value.remedy


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"modes": ()}, "modes"),
        ({"skill": None}, "skill"),
        ({"crew": 0}, "skill"),
        ({"crew": True}, "crew"),
        ({"lag_min": -15}, "lag_min"),
        ({"lag_min": 30, "lag_max": 15}, "lag_max"),
        ({"id": ""}, "id"),
    ],
)
def test_operation(change: dict[str, Any], path: str) -> None:
    with pytest.raises(ProblemError) as refused:
        replace(OP, **change)
    assert refused.value.path == path


@pytest.mark.parametrize("weight", [float("nan"), float("inf"), -1, "3", None])
def test_weight(weight: object) -> None:
    with pytest.raises(ProblemError, match="weight"):
        Job("J1", (OP,), weight=weight)  # type: ignore[arg-type]


def test_negative_duration() -> None:
    with pytest.raises(ProblemError, match="at least 0"):
        Mode(-15)


def test_due_before_the_origin_is_a_job_already_late() -> None:
    assert Job("J1", (OP,), due=-600).due == -600
