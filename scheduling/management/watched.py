"""A search that can be watched and stopped by hand."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from threading import Event, Thread

from scheduling.core.problem import Plan, Week
from scheduling.core.solve import Effort, Progress, solve

LOOK_EVERY_SECONDS = 0.1


@dataclass(frozen=True, slots=True)
class Watched:
    """What came of a search, and whether it was stopped by hand."""

    plan: Plan
    by_hand: bool


def solve_watched(
    week: Week,
    effort: Effort,
    *,
    start: Plan | None,
    stop: Callable[[], bool],
    show: Callable[[Progress, float], None] | None,
) -> Watched:
    """Search in another thread, so that this one hears an interrupt at any moment.

    The first interrupt, or ``stop`` saying yes, ends the search soon and keeps its best plan;
    a second interrupt is raised.

    Parameters
    ----------
    week, effort, start
        See :func:`scheduling.core.solve.solve`.
    stop : callable
        Is asked about ten times a second.
    show : callable, optional
        Is told the latest progress and the seconds gone, as often.

    Raises
    ------
    KeyboardInterrupt
        On the second interrupt.
    """
    work = _Work(week, effort, start)
    worker = Thread(target=work.run, name="search", daemon=True)
    began = time.monotonic()
    worker.start()
    # Not Thread.join: an interrupt inside it makes Python take the thread for ended.
    while not work.done.is_set():
        try:
            work.done.wait(LOOK_EVERY_SECONDS)
            if not work.halt.is_set() and stop():
                work.halt.set()
            if show is not None and work.latest is not None:
                show(work.latest, time.monotonic() - began)
        except KeyboardInterrupt:
            if work.halt.is_set():
                raise
            work.halt.set()
    return Watched(work.answer(), by_hand=work.halt.is_set())


class _Work:
    def __init__(self, week: Week, effort: Effort, start: Plan | None) -> None:
        self.week, self.effort, self.start = week, effort, start
        self.halt, self.done = Event(), Event()
        self.latest: Progress | None = None
        self._plan: Plan | None = None
        self._error: BaseException | None = None

    def run(self) -> None:
        try:
            self._plan = solve(
                self.week,
                self.effort,
                clock=time.monotonic,
                start=self.start,
                progress=self._progress,
                stop=self.halt.is_set,
            )
        except BaseException as error:  # noqa: BLE001 -- raised again in the thread that waits
            self._error = error
        finally:
            self.done.set()

    def _progress(self, step: Progress) -> None:
        self.latest = step

    def answer(self) -> Plan:
        if self._plan is None:
            raise self._error or RuntimeError("the search ended without an answer")
        return self._plan
