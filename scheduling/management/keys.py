"""Whether somebody has pressed a key."""

from __future__ import annotations

import os
import select
import sys
import termios
import tty
from collections.abc import Callable, Iterator
from contextlib import contextmanager

_MOST_BYTES = 1024


@contextmanager
def key_pressed() -> Iterator[Callable[[], bool]]:
    """Yield a question that is answered yes once a key has been pressed.

    Keys are heard one by one while inside, and the terminal is left as it was. Where standard
    input is no terminal, or belongs to another process at the moment, the answer is no.
    """
    terminal = _own_terminal()
    if terminal is None:
        yield lambda: False
        return
    before = termios.tcgetattr(terminal)

    def pressed() -> bool:
        ready, _, _ = select.select([terminal], [], [], 0)
        return bool(ready) and bool(os.read(terminal, _MOST_BYTES))

    try:
        tty.setcbreak(terminal)
        yield pressed
    finally:
        termios.tcsetattr(terminal, termios.TCSADRAIN, before)


def _own_terminal() -> int | None:
    """Return the terminal that this process may listen to.

    A process in the background that touched it would be halted by the system.
    """
    try:
        terminal = sys.stdin.fileno()
        if os.isatty(terminal) and os.tcgetpgrp(terminal) == os.getpgrp():
            return terminal
    except (AttributeError, OSError, ValueError):  # no standard input, or one that is no file
        return None
    return None
