"""Promises: drawn durations run through a fixed plan."""

from statistics import NormalDist

import numpy as np
import pytest

from scheduling.core.draws import Range
from scheduling.core.promise import Before, Pace, Step, simulate

DAY = ((480, 720), (750, 1020), (1920, 2160), (2190, 2460))
STEADY = Range(60, 60, 60)


def step(name: str, pace: Pace, minutes: Range, *before: Before, start: int = 480) -> Step:
    planned = round(minutes.p50)
    return Step(name, name[0], start, minutes, planned, pace, DAY, before)


def ends(*steps: Step) -> dict[str, set[int]]:
    return {job: set(minutes.tolist()) for job, minutes in simulate(steps, samples=20).ends.items()}


def test_without_spread_the_plan_comes_out() -> None:
    long = Range(300, 300, 300)
    assert ends(step("a1", Pace.PAUSABLE, long)) == {"a": {810}}
    assert ends(step("a1", Pace.UNATTENDED, long)) == {"a": {780}}
    assert ends(step("a1", Pace.WHOLE, Range(250, 250, 250))) == {"a": {1000}}


def test_overrun_delays_what_stands_behind_it() -> None:
    first = step("a1", Pace.WHOLE, Range(90, 90, 90))
    after = step("b1", Pace.WHOLE, STEADY, Before("a1"), start=540)
    assert ends(first, after)["b"] == {630}
    assert ends(after, first)["b"] == {630}


def test_bay_is_freed_when_the_next_operation_starts() -> None:
    first = step("a1", Pace.WHOLE, STEADY)
    second = step("a2", Pace.WHOLE, STEADY, Before("a1", lag=30))
    follower = step("b1", Pace.WHOLE, STEADY, Before("a2", its_start=True))
    assert ends(first, second, follower)["b"] == {630}


def test_quantiles_of_a_range_are_met() -> None:
    minutes = Range(40, 60, 150)
    drawn = minutes.at(np.random.default_rng(3).standard_normal(200_000))
    assert np.quantile(drawn, [0.1, 0.5, 0.9]) == pytest.approx([40, 60, 150], rel=0.02)


def test_probability_and_time_to_promise_agree() -> None:
    outcome = simulate([step("a1", Pace.UNATTENDED, Range(300, 400, 600))], samples=4000)
    minute = outcome.minute_for("a", 0.8)
    assert minute is not None
    assert outcome.probability("a", minute) == pytest.approx(0.8, abs=0.01)
    assert outcome.probability("a", minute - 1) < 0.8
    z80 = NormalDist().inv_cdf(0.8) / NormalDist().inv_cdf(0.9)
    assert minute - 480 == pytest.approx(400 * 1.5**z80, rel=0.02)


def test_durations_of_one_vehicle_rise_and_fall_together() -> None:
    chain = [step("a1", Pace.UNATTENDED, Range(60, 100, 170))]
    chain += [
        step(f"a{k}", Pace.UNATTENDED, Range(60, 100, 170), Before(f"a{k - 1}"))
        for k in range(2, 6)
    ]
    spread = [np.std(simulate(chain, shared=rho).ends["a"]) for rho in (0.0, 0.5, 1.0)]
    assert spread[0] < spread[1] < spread[2]


def test_work_that_outlasts_the_calendar_is_never_done() -> None:
    outcome = simulate([step("a1", Pace.PAUSABLE, Range(5000, 5000, 5000))], samples=10)
    assert outcome.minute_for("a", 0.5) is None
    assert outcome.probability("a", 10**6) == 0


def test_same_seed_same_answer() -> None:
    one = simulate([step("a1", Pace.UNATTENDED, Range(60, 100, 170))], seed=5).ends["a"]
    two = simulate([step("a1", Pace.UNATTENDED, Range(60, 100, 170))], seed=5).ends["a"]
    assert (one == two).all()


@pytest.mark.parametrize("bad", [(0, 1, 2), (3, 2, 4), (1, 5, 4), (1, 2, float("nan"))])
def test_range_out_of_order_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="range"):
        Range(*bad)
