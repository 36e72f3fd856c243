"""Cold start of ``manage.py estimate`` against a bare ``django.setup()``.

Whole processes, one of each in turn, so that a slow spell of the machine falls
on both.
"""

import json
import tempfile
from pathlib import Path

from tests.bench.report import PYTHON, Report, process_seconds

RUNS = 9
TARGET_RATIO = 2.0
ROOT = Path(__file__).resolve().parents[2]

INSPECTION = {
    "format": "halfmil-inspection/1",
    "unit": "mil",
    "vehicle": {"body": "pickup", "age_months": 4, "paint": {"hardness": "medium"}},
    "panels": [
        {
            "panel": "front_left_fender",
            "substrate": "steel",
            "spots": [[4.3, 4.2, 4.3], [4.4, 4.4, 4.5]],
            "defects": [{"kind": "swirl_marks", "severity": "light", "extent": 0.6}],
        }
    ],
    "goal": {"cleared": 0.6},
}


def run(report: Report) -> None:
    """Compare the two."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "inspection.json"
        file.write_text(json.dumps(INSPECTION), encoding="utf-8")
        estimate = [PYTHON, "manage.py", "estimate", str(file)]
        bare = [PYTHON, "-c", "import django; django.setup()"]
        # Once each beforehand: byte code is written and files are in memory.
        process_seconds(estimate, cwd=ROOT)
        process_seconds(bare, cwd=ROOT)
        pairs = [
            (process_seconds(estimate, cwd=ROOT), process_seconds(bare, cwd=ROOT))
            for _ in range(RUNS)
        ]
    commands, setups = zip(*pairs, strict=True)
    report.ratio("cold start of manage.py estimate", commands, setups, target=TARGET_RATIO)
