"""One line for each demand of a round: what was asked, what came out, whether it holds."""

from __future__ import annotations

from collections.abc import Callable


class StressReport:
    """Prints figures beside what is demanded of them and remembers which fall short."""

    def __init__(self, write: Callable[[str], None] = print) -> None:
        self._write = write
        self.short: list[str] = []

    @property
    def ok(self) -> bool:
        """Whether every figure so far met its demand."""
        return not self.short

    def figure(self, name: str, figure: object, demand: str, *, ok: bool) -> bool:
        """Print one figure with its demand; return whether it was met."""
        self._write(f"{'ok   ' if ok else 'SHORT'}  {name}: {figure}  (demanded: {demand})")
        if not ok:
            self.short.append(name)
        return ok

    def equal(self, name: str, figure: object, demanded: object) -> bool:
        """Print a figure that has to be exactly the one demanded."""
        return self.figure(name, figure, f"exactly {demanded}", ok=figure == demanded)

    def note(self, text: str) -> None:
        """Print a line without a demand."""
        self._write(f"       {text}")
