"""What cannot be done is named: which operation, and what it lacks."""

from dataclasses import replace

import pytest

from scheduling.core.earliest import earliest_fit
from scheduling.core.fit import Chain, Why
from scheduling.core.freeindex import FreeIndex
from scheduling.core.problem import Mode, Operation
from tests.scheduling.core.test_earliest_by_hand import COAT, DAY, DAYS, POLISH, SHOP


@pytest.mark.parametrize(
    ("ops", "why", "culprit"),
    [
        ([replace(POLISH, spot_cap="sand")], Why.NO_SPOT, "polish"),
        ([replace(POLISH, skill="sand")], Why.NO_SKILL, "polish"),
        ([replace(POLISH, crew=2)], Why.NO_SKILL, "polish"),
        ([replace(COAT, modes=(Mode(60, lamps=2),))], Why.NO_LAMP, "coat"),
        ([replace(COAT, modes=(Mode(300),))], Why.NO_WINDOW, "coat"),
        ([Operation("hold", "cure", (Mode(700),), open_hours=True)], Why.NO_OPENING, "hold"),
        ([POLISH, replace(COAT, lag_min=750, lag_max=750)], Why.LAG, "coat"),
        ([Operation("cure", "cure", (Mode(DAYS * DAY),))], Why.HORIZON, "cure"),
    ],
)
def test_reason(ops: list[Operation], why: Why, culprit: str) -> None:
    fit = earliest_fit(Chain(tuple(ops)), FreeIndex(SHOP))
    assert not fit.found
    assert [(reason.why, reason.op_id) for reason in fit.reasons] == [(why, culprit)]


def test_full_calendar_is_told_from_the_impossible() -> None:
    index = FreeIndex(SHOP, {"ana": [(0, DAYS * DAY)]})
    assert [r.why for r in earliest_fit(Chain((POLISH,)), index).reasons] == [Why.FULL]


def test_asked_for_a_time_after_the_calendar() -> None:
    fit = earliest_fit(Chain((POLISH,)), FreeIndex(SHOP), not_before=DAYS * DAY + 60)
    assert [reason.why for reason in fit.reasons] == [Why.HORIZON]
