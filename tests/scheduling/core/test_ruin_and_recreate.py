"""Each step of ruin and recreate leaves a valid plan, and the best one is never lost."""

from random import Random

import pytest

from scheduling.core import improve
from scheduling.core.improve import ORDERS, RuinRecreate
from scheduling.core.ruin import RUINS, Ruin, neighbours
from tests.scheduling.core.sketches import assert_sound, sketch_of
from tests.scheduling.core.weeks import random_week


@pytest.mark.parametrize("ruin", RUINS, ids=lambda ruin: ruin.__name__)
def test_each_way_to_ruin_names_placed_jobs_once(ruin: Ruin) -> None:
    sketch = sketch_of(random_week(10, 1))
    rng = Random(1)  # noqa: S311 -- a test case
    for count in (1, 4, 10):
        jobs = ruin(sketch, rng, count)
        assert 1 <= len(jobs) <= count
        assert len(set(jobs)) == len(jobs)
        assert set(jobs) <= set(sketch.placed)


@pytest.mark.parametrize("ruin", range(len(RUINS)))
@pytest.mark.parametrize("order", range(len(ORDERS)))
def test_ruined_and_recreated_is_valid(
    ruin: int, order: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(improve, "RUINS", (RUINS[ruin],))
    monkeypatch.setattr(improve, "ORDERS", (ORDERS[order],))
    search = RuinRecreate(sketch_of(random_week(9, ruin + 1)), seed=order)
    search.run(25, cooled=0.0)
    assert_sound(search.sketch)


def test_hot_steps_never_lose_the_best(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(improve, "HOT", 0.5)
    search = RuinRecreate(sketch_of(random_week(10, 3)))
    seen = [search.now.objective]
    for _ in range(60):
        search.run(1, cooled=0.0)
        seen.append(search.now.objective)
        assert search.best.objective <= min(seen) + 1e-6
    assert seen[-1] > min(seen)  # hot enough that the plan gone on from is not the best
    assert_sound(search.restore_best())
    assert abs(search.sketch.standing.objective - min(seen)) < 1e-6


def test_same_seed_same_steps() -> None:
    ways = []
    for _ in range(2):
        search = RuinRecreate(sketch_of(random_week(10, 4)), seed=7)
        search.run(80, cooled=0.5)
        ways.append((search.now, search.best, {k: v.taken for k, v in search.kept.placed.items()}))
    assert ways[0] == ways[1]


def test_jobs_without_a_place_come_first() -> None:
    sketch = sketch_of(random_week(10, 5))
    for job_id in ("J1", "J2"):
        sketch.take_out(job_id)
    search = RuinRecreate(sketch)
    assert search.now.unplaced == 2
    search.run(20)
    assert search.best.unplaced == 0
    assert_sound(search.restore_best())


def test_neighbours_start_with_jobs_that_have_no_place() -> None:
    sketch = sketch_of(random_week(8, 1))
    sketch.take_out("J3")
    chosen = neighbours(sketch, Random(1), 4)  # noqa: S311 -- a test case
    assert chosen[0] == "J3"
    assert len(set(chosen)) == len(chosen) <= 4
