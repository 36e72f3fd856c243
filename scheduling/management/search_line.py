"""A running search on standard error: one line rewritten, or a line for each change."""

from __future__ import annotations

import shutil
from collections.abc import Callable

from scheduling.core.solve import Progress

_LINE_EVERY_SECONDS = 1.0
_REWRITE = "\r\x1b[K"


class SearchLine:
    """Shows the latest progress.

    Parameters
    ----------
    write : callable
        Writes a text as it is.
    limit_seconds : float
        Time limit of the search.
    rewritten : bool
        Whether one line is written again and again, for a terminal; otherwise a line is
        added where something changed, at most one a second.
    """

    def __init__(
        self, write: Callable[[str], object], limit_seconds: float, *, rewritten: bool
    ) -> None:
        self._write = write
        self._limit_seconds = limit_seconds
        self._rewritten = rewritten
        self._shown: tuple[float | None, float, str] | None = None
        self._shown_at = -_LINE_EVERY_SECONDS

    def show(self, step: Progress, seconds: float) -> None:
        """Show a step after so many seconds, if it is time to."""
        if self._rewritten:
            width = shutil.get_terminal_size().columns - 1
            self._write(_REWRITE + self._line(step, seconds)[:width])
            return
        news = (step.best, step.bound, step.phase)
        if news != self._shown and seconds - self._shown_at >= _LINE_EVERY_SECONDS:
            self._shown, self._shown_at = news, seconds
            self._write(self._line(step, seconds) + "\n")

    def close(self) -> None:
        """Clear the line."""
        if self._rewritten:
            self._write(_REWRITE)

    def _line(self, step: Progress, seconds: float) -> str:
        return (
            f"best {points(step.best)}, bound {points(step.bound)}, gap {share(step.gap)}, "
            f"{seconds:.1f} of {self._limit_seconds:g} s, {step.phase}"
        )


def points(value: float | None) -> str:
    """Return a value of the objective for reading."""
    return "none yet" if value is None else f"{value:,.1f}".removesuffix(".0")


def share(value: float | None) -> str:
    """Return a share in percent."""
    return "unknown" if value is None else f"{100 * value:.1f} %"
