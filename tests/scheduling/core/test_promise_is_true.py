"""Promises against a slow reference, against many draws, and against an invented shop."""

import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.core.draws import Minutes, draw
from scheduling.core.promise import simulate
from scheduling.services.promises import SAMPLES
from tests.scheduling.core.slow_promise import duration, invented_shop, one_draw, slow_ends


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 12), st.integers(1, 4), st.integers(0, 1000))
def test_the_slow_reference_gets_the_same_ends(jobs: int, bays: int, seed: int) -> None:
    steps = invented_shop(jobs, bays=bays, seed=seed)
    fast = simulate(steps, samples=16, seed=seed).ends
    assert {job: ends.tolist() for job, ends in fast.items()} == slow_ends(
        steps, samples=16, seed=seed
    )


SHARES = (0.5, 0.8, 0.9, 0.95)


def off_by(samples: int) -> list[float]:
    """How far probabilities are from 50,000 draws of another seed, for every job of a shop."""
    few = simulate(invented_shop(20), samples=samples, seed=1)
    return [
        few.probability(job, minute) - float(np.mean(ends <= minute))
        for job, ends in many_draws().items()
        for minute in np.quantile(ends, SHARES).astype(int).tolist()
    ]


def test_no_probability_told_is_off_by_0_015() -> None:
    assert np.abs(off_by(SAMPLES)).max() < 0.015


def test_at_2_000_draws_nearly_none_is() -> None:
    """Draws without strata come to 0.008 here."""
    off = np.array(off_by(2_000))
    assert np.sqrt(np.mean(off**2)) < 0.0075
    assert np.mean(np.abs(off) < 0.015) > 0.95


@cache
def many_draws() -> dict[str, Minutes]:
    return dict(simulate(invented_shop(20), samples=50_000, seed=99).ends)


def test_what_is_promised_happens_as_often_as_said() -> None:
    """A shop "as it really goes": other durations of the same ranges, worked out the slow way.

    Every job is promised a time at random. Predictions are sorted into bins of a tenth, and in
    each the share met has to be the one predicted, within five points.
    """
    steps = invented_shop(12)
    told = simulate(steps, samples=SAMPLES, seed=1)
    rng = np.random.default_rng(5)
    bins: dict[int, list[tuple[float, bool]]] = {}
    for _ in range(600):
        of_job = {step.job: rng.standard_normal() for step in steps}
        real = one_draw(
            steps,
            {
                step.id: duration(
                    step.minutes, (of_job[step.job] + rng.standard_normal()) / math.sqrt(2)
                )
                for step in steps
            },
        )
        for job, end in real.items():
            minute = int(rng.choice(told.ends[job])) + int(rng.integers(-20, 20))
            said = told.probability(job, minute)
            bins.setdefault(min(9, int(said * 10)), []).append((said, end <= minute))
    assert set(bins) == set(range(10))
    for told_and_met in bins.values():
        said, met = np.mean(told_and_met, axis=0)
        assert len(told_and_met) >= 150
        assert met == pytest.approx(said, abs=0.05)


def test_draws_hang_on_the_name_alone() -> None:
    """Common random numbers: a job keeps its draws whatever else a plan holds."""
    steps = invented_shop(6)
    first = [step for step in steps if step.job == "0"]
    assert (simulate(steps).ends["0"] == simulate(first).ends["0"]).all()
    assert (draw("a", samples=50, seed=1) != draw("b", samples=50, seed=1)).any()
    assert (draw("a", samples=50, seed=1) != draw("a", samples=50, seed=2)).any()


def test_two_plans_differ_with_less_noise_on_the_same_draws() -> None:
    """A wait of an hour less shows draw by draw; on draws of their own it is lost in noise."""
    steps = [step for step in invented_shop(1, seed=3) if step.job == "0"]
    plan = simulate(steps, samples=500, seed=1).ends["0"]
    same = simulate(steps[:-1], samples=500, seed=1).ends["0"]
    other = simulate(steps[:-1], samples=500, seed=2).ends["0"]
    assert np.std(plan - same) < 0.5 * np.std(plan - other)


def test_names_draw_without_regard_to_one_another() -> None:
    names = [draw(f"{n}-1", samples=2_000, seed=1) for n in range(40)]
    between = np.asarray(np.corrcoef(names))[np.triu_indices(40, k=1)]
    assert abs(between).max() < 0.12  # 780 pairs, each with a deviation of 0.022
    assert np.std(between) == pytest.approx(1 / np.sqrt(2_000), rel=0.15)
