"""Runs one round in this process: ``python -m tests.stress.alone NAME [--short]``.

The database is that of the settings, empty but for the migrations: started by
``python -m tests.stress``, which gives each round one of its own.
"""

from __future__ import annotations

import importlib
import os
import sys

import django

from tests.stress.report import StressReport


def main(arguments: list[str]) -> int:
    """Run the round; return 1 where a figure falls short."""
    name, *rest = arguments
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    django.setup()
    report = StressReport(lambda line: print(line, flush=True))
    held = importlib.import_module(f"tests.stress.round_{name}").run(report, "--short" in rest)
    return 0 if held and report.ok else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
