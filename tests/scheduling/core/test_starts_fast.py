"""What answers the phone starts without numeric libraries; only solvers and promises load them."""

import subprocess
import sys

import pytest

LIGHT = [
    "problem",
    "worktime",
    "climate",
    "fit",
    "earliest",
    "check",
    "check_fit",
    "formats",
    "insertion",
    "improve",
]


@pytest.mark.parametrize("banned", ["numpy", "ortools", "django"])
def test_not_imported(banned: str) -> None:
    imports = ", ".join(f"scheduling.core.{name}" for name in LIGHT)
    program = f"import sys, {imports}; sys.exit({banned!r} in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
