"""Several processes that belong together: started, started again, stopped in order."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import FrameType

from django.conf import settings

# Between two starts of one that ended, so that a broken one does not spin.
RESTART_SECONDS = 5.0
LOOK_SECONDS = 0.2


@dataclass
class Kept:
    """One process of ours."""

    name: str
    command: Sequence[str]
    process: subprocess.Popen[bytes] = field(init=False)
    started: float = field(init=False)

    def __post_init__(self) -> None:
        self.start()

    def start(self) -> None:
        """Start it in a session of its own.

        Ctrl-C reaches the process that keeps it alone, which then stops all of them in
        order instead of each stopping at once.
        """
        self.started = time.monotonic()
        self.process = subprocess.Popen(  # noqa: S603 -- a command of our own, no shell
            [sys.executable, *self.command],
            cwd=settings.BASE_DIR,
            env=dict(os.environ),
            start_new_session=True,
        )

    @property
    def ended(self) -> bool:
        """Whether it runs no more."""
        return self.process.poll() is not None

    def look_after(self, say: Callable[[str], object]) -> None:
        """Start it again where it ended by itself."""
        if self.ended and time.monotonic() - self.started > RESTART_SECONDS:
            say(f"The {self.name} ended ({self.process.returncode}); started again.")
            self.start()


def stop(kept: Sequence[Kept], *, within_seconds: float) -> None:
    """Ask all of them to end and kill those that have not in time."""
    for one in kept:
        with contextlib.suppress(ProcessLookupError):
            one.process.terminate()
    deadline = time.monotonic() + within_seconds
    for one in kept:
        try:
            one.process.wait(max(0.0, deadline - time.monotonic()))
        except subprocess.TimeoutExpired:
            # With its children, which would otherwise go on without it.
            with contextlib.suppress(ProcessLookupError):
                os.killpg(one.process.pid, signal.SIGKILL)
            one.process.wait()


class Asked:
    """Notes that this process was asked to end, from when it is made."""

    def __init__(self) -> None:
        self._asked = False
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, self._note)

    def __bool__(self) -> bool:
        return self._asked

    def _note(self, _number: int, _frame: FrameType | None) -> None:
        self._asked = True
