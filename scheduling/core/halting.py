"""End a running solve soon after somebody says so.

A solver runs for seconds outside of Python and asks nobody meanwhile; so a thread of its own
asks, and tells the solver to stop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread

from ortools.sat.python import cp_model

ASK_EVERY_SECONDS = 0.05


@contextmanager
def halting(solver: cp_model.CpSolver, stop: Callable[[], bool] | None) -> Iterator[None]:
    """Stop ``solver`` while inside, as soon as ``stop`` says yes.

    Parameters
    ----------
    solver : CpSolver
        Solves inside the ``with``.
    stop : callable, optional
        Is asked from another thread; None never stops.
    """
    if stop is None:
        yield
        return
    done = Event()

    def watch() -> None:
        # Told again and again: a solver that has not begun yet does not hear it.
        while not done.wait(ASK_EVERY_SECONDS):
            if stop():
                solver.stop_search()

    watcher = Thread(target=watch, name="halting", daemon=True)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()
