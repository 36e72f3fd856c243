"""The core starts without solvers, numeric libraries or Django: start-up is felt."""

import subprocess
import sys

HEAVY = ("numpy", "scipy", "ortools", "django", "rest_framework", "celery")


def test_an_estimate_imports_nothing_heavy():
    code = (
        "import sys, estimating.core.estimate, estimating.core.formats, estimating.core.svg;"
        f"print([name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
