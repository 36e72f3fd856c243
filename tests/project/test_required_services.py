"""A service that does not answer skips its tests aloud, or fails them where it is required."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOWHERE = {
    "HALFMIL_TEST_REDIS_URL": "redis://127.0.0.1:1",
    "HALFMIL_TEST_DATABASE_URL": "postgresql://127.0.0.1:1/nowhere",
    "HALFMIL_DATABASE_URL": "sqlite:///:memory:",
    # No Chromium either.
    "PATH": "/nonexistent",
}
SAMPLES = """
import pytest

def test_with_redis(redis_database_url): pass
def test_with_a_browser(page): pass
@pytest.mark.postgres
def test_on_postgresql(): pass
def test_without_any(): pass
"""
REASONS = ("no Redis to test against", "no Chromium found", "no PostgreSQL to test against")


def run_samples(folder: Path, **settings: str) -> subprocess.CompletedProcess[str]:
    """Run one test for each service, where none of them answers."""
    file = folder / "test_samples.py"
    file.write_text(SAMPLES)
    inherited = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("HALFMIL_", "PYTEST_"))
    }
    plugins = ("-p", "no:randomly", "-p", "tests.conftest")
    return subprocess.run(
        [sys.executable, "-m", "pytest", *plugins, "-c", "pyproject.toml", file],
        cwd=ROOT,
        env={**inherited, **NOWHERE, **settings},
        capture_output=True,
        text=True,
        check=False,
    )


def test_elsewhere_each_is_skipped_with_a_line(tmp_path: Path) -> None:
    done = run_samples(tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 passed, 3 skipped" in done.stdout
    for reason in REASONS:
        assert reason in done.stdout


def test_where_required_each_fails(tmp_path: Path) -> None:
    done = run_samples(tmp_path, HALFMIL_REQUIRE_SERVICES="1")
    assert done.returncode == 1, done.stdout + done.stderr
    # Reported as errors: they fail before the test itself begins.
    assert "1 passed, 3 errors" in done.stdout
    for reason in REASONS:
        assert f"{reason}" in done.stdout
    assert done.stdout.count("forbids skipping") >= len(REASONS)
