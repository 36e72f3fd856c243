"""Times things and prints one line for each, beside its target."""

import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import django

MS = 1000.0


def machine_line() -> str:
    """Return what was measured on: processor, cores, Python, Django."""
    processor = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        for line in cpuinfo.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                processor = line.partition(":")[2].strip()
                break
    return (
        f"{processor}, {os.cpu_count()} cores, {platform.system()}, "
        f"Python {platform.python_version()}, Django {django.get_version()}"
    )


class Report:
    """Collects figures; every line says what was measured, how often, and the target."""

    def __init__(self, write: Callable[[str], None] = print) -> None:
        self._write = write
        self.missed: list[str] = []

    def measure(
        self,
        name: str,
        work: Callable[[], object],
        *,
        repeats: int = 20,
        target_ms: float | None = None,
    ) -> float:
        """Time ``work`` inside this process, after one run to warm up.

        Returns the median in milliseconds.
        """
        work()
        seconds = []
        for _ in range(repeats):
            started = time.perf_counter()
            work()
            seconds.append(time.perf_counter() - started)
        return self.timing(name, seconds, target_ms=target_ms)

    def timing(
        self, name: str, seconds: Sequence[float], *, target_ms: float | None = None
    ) -> float:
        """Print times measured elsewhere, in seconds; return the median in milliseconds."""
        median_ms = statistics.median(seconds) * MS
        worst_ms = max(seconds) * MS
        detail = f"median of {len(seconds)}, worst {worst_ms:,.1f} ms"
        self._line(name, f"{median_ms:,.1f} ms", detail, median_ms, target_ms, "ms")
        return median_ms

    def note(self, text: str) -> None:
        """Print a line without a figure."""
        self._write(text)

    def ratio(
        self,
        name: str,
        value: Sequence[float],
        base: Sequence[float],
        *,
        target: float | None = None,
    ) -> float:
        """Print the ratio of two medians of times in seconds, and return it."""
        high, low = statistics.median(value), statistics.median(base)
        detail = f"{high * MS:,.0f} ms against {low * MS:,.0f} ms, medians of {len(value)}"
        self._line(name, f"{high / low:.2f}x", detail, high / low, target, "x")
        return high / low

    def figure(
        self, name: str, value: float, unit: str, detail: str, *, target: float | None = None
    ) -> float:
        """Print a figure that is better the smaller it is, and return it."""
        self._line(name, f"{value:,.2f} {unit}", detail, value, target, f" {unit}")
        return value

    def _line(
        self, name: str, figure: str, detail: str, value: float, target: float | None, unit: str
    ) -> None:
        judgement = ""
        if target is not None:
            met = value < target
            judgement = f"  target under {target:g}{unit}: {'met' if met else 'MISSED'}"
            if not met:
                self.missed.append(name)
        self._write(f"{name:<44} {figure:>12}  ({detail}){judgement}")


def process_seconds(command: Sequence[str], *, cwd: Path | None = None) -> float:
    """Return how long a whole process takes, start-up included, in seconds.

    Raises
    ------
    RuntimeError
        Where it fails: the time of a failure is no figure.
    """
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "shop.settings"}
    # Where it is set every start compiles our own files again, as on no installation.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    # `make bench` hands its own switches on to a make that is measured.
    for name in ("MAKEFLAGS", "MAKELEVEL", "MAKEOVERRIDES", "MFLAGS"):
        environment.pop(name, None)
    started = time.perf_counter()
    done = subprocess.run(command, cwd=cwd, env=environment, capture_output=True, check=False)
    seconds = time.perf_counter() - started
    if done.returncode:
        message = done.stderr.decode(errors="replace").strip()
        raise RuntimeError(f"{' '.join(command)}: exit status {done.returncode}\n{message}")
    return seconds


PYTHON = sys.executable
