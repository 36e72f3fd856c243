"""Prints the measured figures of the README: ``make bench``.

Every ``bench_*.py`` beside this file has a ``run(report)``; they run in the
order of their names.  ``make bench ARGS="cold_start"`` runs some of them.
"""

import importlib
import os
import sys
from pathlib import Path

import django

from tests.bench.report import Report, machine_line


def bench_names() -> list[str]:
    """Return the names of all benchmarks, without ``bench_``."""
    files = Path(__file__).parent.glob("bench_*.py")
    return sorted(file.stem.removeprefix("bench_") for file in files)


def main(chosen: list[str]) -> int:
    """Run the chosen benchmarks, or all; return 2 for a name that does not exist."""
    known = bench_names()
    unknown = [name for name in chosen if name not in known]
    if unknown:
        print(f"No such benchmark: {', '.join(unknown)}. There are: {', '.join(known)}.")
        return 2
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    print(machine_line(), flush=True)
    report = Report(lambda line: print(line, flush=True))
    for name in chosen or known:
        importlib.import_module(f"tests.bench.bench_{name}").run(report)
    if report.missed:
        print(f"Missed: {', '.join(report.missed)}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
