"""The Makefile picks a Python that is new enough, or says in one line what is missing."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

MAKEFILE = Path(__file__).resolve().parents[2] / "Makefile"


@pytest.fixture
def empty_clone(tmp_path: Path) -> Path:
    """A clone without .venv, in a folder with a space in its name."""
    clone = tmp_path / "a clone"
    clone.mkdir()
    (clone / "Makefile").write_text(MAKEFILE.read_text())
    (clone / "pyproject.toml").touch()
    return clone


def fake_python(path: Path, version: str) -> Path:
    """A Python that takes itself for ``version``; it runs the code it is given."""
    parts = tuple(int(part) for part in version.split("."))
    pretend = f"import sys; sys.version_info = {parts}; exec(sys.argv[1])"
    path.write_text(f"""#!/bin/sh\nexec '{sys.executable}' -c '{pretend}' "$2"\n""")
    path.chmod(0o755)
    return path


def make(clone: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run make without doing anything that it would do."""
    command = ["make", "--dry-run", "lint", *arguments]
    # Nothing from the make that may be running this suite.
    inherited = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("MAKE") and name != "PYTHON"
    }
    return subprocess.run(
        command, cwd=clone, env=inherited, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize("version", ["2.7.18", "3.9.2", "3.10.14"])
def test_too_old_a_python_is_refused_in_one_line(empty_clone: Path, version: str) -> None:
    old = fake_python(empty_clone / "old python", version)
    done = make(empty_clone, f"PYTHON=./{old.name}")
    assert done.returncode == 2
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert f"Halfmil needs Python 3.11 or newer; found {version}. " in done.stderr
    assert "Install it or run make PYTHON=/path/to/python3.11 lint" in done.stderr
    assert not (empty_clone / ".venv").exists()


def test_no_python_at_all_is_said_in_one_line(empty_clone: Path) -> None:
    done = make(empty_clone, "PYTHON_NAMES=no-such-python")
    assert done.returncode == 2
    assert "Halfmil needs Python 3.11 or newer; found none." in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_the_first_that_is_new_enough_is_taken(empty_clone: Path) -> None:
    fake_python(empty_clone / "old", "3.10.1")
    fake_python(empty_clone / "new", "3.11.0")
    fake_python(empty_clone / "newer", "3.13.1")
    broken = empty_clone / "broken"
    broken.write_text("#!/bin/sh\necho 3.12.0\nexit 127\n")
    broken.chmod(0o755)
    done = make(empty_clone, "PYTHON_NAMES=./broken ./old ./new ./newer")
    assert done.returncode == 0, done.stderr
    assert '"./new" -m venv .venv' in done.stdout


def test_nothing_is_installed_again_while_the_stamp_is_new(empty_clone: Path) -> None:
    (empty_clone / ".venv").mkdir()
    (empty_clone / ".venv" / ".installed").touch()
    done = make(empty_clone, "PYTHON_NAMES=no-such-python")
    assert done.returncode == 0, done.stderr
    assert "-m venv" not in done.stdout
    assert "-m pip" not in done.stdout
