"""Promises: 40 jobs through the fixed order of a shop, against one draw after the other."""

from __future__ import annotations

import time

import numpy as np
import numpy.typing as npt

from scheduling.core.promise import Outcome, simulate, waited_for
from scheduling.services.promises import SAMPLES as TOLD_SAMPLES
from tests.bench.report import Report
from tests.scheduling.core.slow_promise import invented_shop, slow_ends

JOBS = 40
SAMPLES = 2_000
TARGET_MS = 60.0
LEAST_TIMES = 200.0
SLOW_DRAWS = range(0, SAMPLES, 20)
"""Every twentieth draw is worked out the slow way; its time is that of a draw."""
MANY = 50_000
MOST_OFF = 1.5
"""In hundredths."""
REPEATS = 15


def run(report: Report) -> None:
    """Time the promises of a week, and say how far its probabilities are off."""
    steps = invented_shop(JOBS)
    began = time.perf_counter()
    outcome = simulate(steps, samples=SAMPLES)
    first = time.perf_counter() - began
    name = f"promises, {JOBS} jobs of 8, {SAMPLES:,} draws"
    fast_ms = report.measure(
        name, lambda: simulate(steps, samples=SAMPLES), repeats=REPEATS, target_ms=TARGET_MS
    )
    report.timing("  the first time, when no draws are kept yet", [first])
    began = time.perf_counter()
    slow = slow_ends(steps, samples=SAMPLES, seed=1, only=SLOW_DRAWS)
    slow_ms = (time.perf_counter() - began) * 1000 / len(SLOW_DRAWS) * SAMPLES
    for job, ends in slow.items():
        if outcome.ends[job][list(SLOW_DRAWS)].tolist() != ends:
            raise RuntimeError(f"job {job}: the slow reference gets other ends")
    # A figure is better the smaller it is, so the speed is told as a share of the slow time.
    report.figure(
        "  share of the time of one draw at a time",
        100 * fast_ms / slow_ms,
        "%",
        f"{slow_ms / fast_ms:,.0f} times as fast as {slow_ms:,.0f} ms in plain Python, same ends",
        target=100 / LEAST_TIMES,
    )
    last = steps[-1].job
    few = waited_for(steps, last, most=60)
    report.measure(
        f"promise of one job behind {len(few)} steps", lambda: simulate(few, samples=SAMPLES)
    )
    many = simulate(steps, samples=MANY, seed=99)
    for samples, target in ((SAMPLES, None), (TOLD_SAMPLES, MOST_OFF)):
        off = _off(simulate(steps, samples=samples), many)
        detail = f"worst of {len(off)}, root mean square {np.sqrt(np.mean(off**2)):.4f}"
        name = f"  off from {MANY:,} draws at {samples:,}"
        report.figure(name, 100 * np.abs(off).max(), "points", detail, target=target)


def _off(few: Outcome, many: Outcome) -> npt.NDArray[np.float64]:
    return np.array(
        [
            few.probability(job, minute) - float(np.mean(ends <= minute))
            for job, ends in many.ends.items()
            for minute in np.quantile(ends, (0.5, 0.8, 0.9, 0.95)).astype(int).tolist()
        ]
    )
