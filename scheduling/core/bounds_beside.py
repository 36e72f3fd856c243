"""The bound by prices in a process of its own, so that the search keeps all of its time.

Python runs one thread at a time and pricing is mostly Python, so a thread would take from the
search what it gives to the bound. The process is an ordinary program that reads the week and
writes bounds: unlike those of :mod:`multiprocessing` it may be started by a daemon, such as a
worker of a task queue, and does not read the caller's main module again. It ends when it has
nothing more to gain, when it is told, and when whoever started it is gone.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from threading import Thread
from typing import BinaryIO

from scheduling.core.bounds_prices import PriceBound
from scheduling.core.freeindex import FreeIndex
from scheduling.core.insertion import week_resources
from scheduling.core.problem import Week

COMMAND = ("-m", "scheduling.core.bounds_beside")
Given = tuple[Week, float, float, int]
"""The week, a bound that is known, points besides those of jobs, and a seed."""


class Beside:
    """A process that lifts a bound meanwhile.

    Parameters
    ----------
    given : tuple
        The problem, as :class:`~scheduling.core.bounds_prices.PriceBound` takes it.

    Raises
    ------
    OSError
        If no process can be started.

    Attributes
    ----------
    bound : float
        The best bound it has told so far.
    """

    def __init__(self, given: Given) -> None:
        self.bound = given[1]
        self.process = subprocess.Popen(  # noqa: S603 -- this module, no shell
            [sys.executable, *COMMAND],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            # An interrupt from the terminal is the search's to hear.
            start_new_session=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)},
        )
        self._talk = Thread(target=self._exchange, args=(given,), name="bounds", daemon=True)
        self._talk.start()

    @property
    def at_work(self) -> bool:
        """Whether it still runs."""
        return self.process.poll() is None

    def close(self) -> None:
        """End it and wait until it is gone."""
        self.process.kill()
        self.process.wait()
        self._talk.join()
        for pipe in (self.process.stdin, self.process.stdout):
            if pipe is not None:
                with suppress(BrokenPipeError):  # what it had no time to read
                    pipe.close()

    def _exchange(self, given: Given) -> None:
        """Hand it the week, then listen until it ends."""
        to, out = self.process.stdin, self.process.stdout
        if to is None or out is None:
            return
        try:
            pickle.dump(given, to)
            to.flush()
        except BrokenPipeError:
            return
        for line in out:
            self.bound = max(self.bound, float.fromhex(line.decode().strip()))


@contextmanager
def beside(given: Given) -> Iterator[Beside | None]:
    """Run it while inside; None where no process can be started."""
    try:
        running = Beside(given)
    except OSError:
        yield None
        return
    try:
        yield running
    finally:
        running.close()


def serve(given: BinaryIO, tell: Callable[[float], object]) -> None:
    """Read a problem and tell each better bound, until nothing is gained any more."""
    week, known, extra, seed = pickle.load(given)  # noqa: S301 -- from whoever started this
    Thread(target=_end_with, args=(given,), daemon=True).start()
    empty = FreeIndex(week_resources(week))
    prices = PriceBound(week, empty, known=known, extra=extra, seed=seed)
    while not prices.settled:
        before = prices.bound
        if prices.improve() > before:
            tell(prices.bound)


def _end_with(given: BinaryIO) -> None:
    """End this process as soon as the other end of the pipe is gone."""
    given.read(1)
    os._exit(0)


def _write(bound: float) -> None:
    sys.stdout.write(bound.hex() + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    serve(sys.stdin.buffer, _write)
