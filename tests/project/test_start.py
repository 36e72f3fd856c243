"""``manage.py`` starts with nothing set, and stops readably with something set wrong."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def manage(*arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    clean = {name: value for name, value in os.environ.items() if not name.startswith("HALFMIL_")}
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env={**clean, **settings},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_fresh_clone_passes_its_own_checks(tmp_path: Path) -> None:
    done = manage("check", "--fail-level", "WARNING", HALFMIL_VAR_DIR=str(tmp_path / "new var"))
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "new var" / "secret_key").exists()


def test_with_https_nothing_is_left_for_the_deployment_check(tmp_path: Path) -> None:
    done = manage(
        *("check", "--deploy", "--fail-level", "WARNING"),
        HALFMIL_VAR_DIR=str(tmp_path),
        HALFMIL_HTTPS="1",
        HALFMIL_ALLOWED_HOSTS="shop.example.org",
    )
    assert done.returncode == 0, done.stderr


def test_a_wrong_setting_stops_the_start_without_a_traceback(tmp_path: Path) -> None:
    done = manage("check", HALFMIL_VAR_DIR=str(tmp_path), HALFMIL_REDIS_URL="http://localhost")
    assert done.returncode == 1
    assert "HALFMIL_REDIS_URL" in done.stderr
    assert "redis://localhost:6379/0" in done.stderr
    assert "Traceback" not in done.stderr


def test_customers_numbers_do_not_go_over_an_open_line(tmp_path: Path) -> None:
    def check(url: str) -> subprocess.CompletedProcess[str]:
        token = {"HALFMIL_TEXT_GATEWAY_TOKEN": "invented"}
        return manage("check", HALFMIL_VAR_DIR=str(tmp_path), HALFMIL_TEXT_GATEWAY_URL=url, **token)

    refused = check("http://127.0.0.1.example.org/messages")
    assert refused.returncode == 1
    assert "HALFMIL_TEXT_GATEWAY_URL: it would carry the token" in refused.stderr
    assert "Use https://" in refused.stderr
    assert check("http://127.0.0.1:9000/messages").returncode == 0


def test_debug_is_off_unless_asked_for(tmp_path: Path) -> None:
    ask = ("shell", "-v0", "-c", "from django.conf import settings; print(settings.DEBUG)")
    assert manage(*ask, HALFMIL_VAR_DIR=str(tmp_path)).stdout.strip() == "False"
    on = manage(*ask, HALFMIL_VAR_DIR=str(tmp_path), HALFMIL_DEBUG="1")
    assert on.stdout.strip() == "True"


def test_a_worker_without_a_broker_says_what_to_set(tmp_path: Path) -> None:
    done = manage("worker", HALFMIL_VAR_DIR=str(tmp_path))
    assert done.returncode == 1
    assert "set HALFMIL_REDIS_URL" in done.stderr
