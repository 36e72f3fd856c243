"""``make demo SERVE=no`` from a fresh clone of the last commit, packages cached by pip."""

import shutil
import tempfile
from pathlib import Path

from tests.bench.report import Report, process_seconds

ROOT = Path(__file__).resolve().parents[2]


def run(report: Report) -> None:
    """Time the first run, which builds .venv, and a second one."""
    git, make = shutil.which("git"), shutil.which("make")
    if git is None or make is None:
        raise RuntimeError("this benchmark needs git and make")
    with tempfile.TemporaryDirectory(prefix="halfmil bench ") as folder:
        clone = Path(folder) / "halfmil"
        process_seconds([git, "clone", "--quiet", str(ROOT), str(clone)])
        command = [make, "-C", str(clone), "demo", "SERVE=no"]
        report.timing("make demo SERVE=no, fresh clone", [process_seconds(command)])
        report.timing("make demo SERVE=no, again", [process_seconds(command)])
