"""``manage.py run`` serves the site beside its clock, and says so where the port is taken."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

ROOT = Path(__file__).resolve().parents[2]
START_SECONDS = 90.0


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port: int = server.getsockname()[1]
    return port


def answers(port: int) -> bool:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/alive/", timeout=1) as answer:
            return bool(answer.read() == b"ok\n")
    except OSError:
        return False


def test_a_port_that_is_taken_is_named_with_the_next_one() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        with pytest.raises(CommandError, match=f"127.0.0.1:{port} .* make run PORT={port + 1}"):
            call_command("run", port=port)


def test_site_and_clock_start_and_stop_together(tmp_path: Path) -> None:
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "manage.py", "run", "--port", str(port)],
        cwd=ROOT,
        env={
            **os.environ,
            "HALFMIL_VAR_DIR": str(tmp_path),
            "HALFMIL_DATABASE_URL": f"sqlite:///{tmp_path / 'halfmil.sqlite3'}",
        },
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        deadline = time.monotonic() + START_SECONDS
        while not answers(port) and time.monotonic() < deadline:
            assert process.poll() is None
            time.sleep(0.1)
        assert answers(port)
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
        assert len(children) == 2
        process.send_signal(signal.SIGTERM)
        assert process.wait(START_SECONDS) == 0
        assert not answers(port)
        assert not any(Path(f"/proc/{child}").exists() for child in children)
    finally:
        # Asked, not killed: it ends those that it keeps.
        process.terminate()
        process.wait(START_SECONDS)
