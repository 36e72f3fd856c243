"""``manage.py worker`` keeps a process for each queue and ends all of them."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import redis
from django.core.management import CommandError, call_command

ROOT = Path(__file__).resolve().parents[2]
START_SECONDS = 90.0


def children_of(pid: int) -> list[str]:
    return Path(f"/proc/{pid}/task/{pid}/children").read_text().split()


def command_of(pid: str) -> str:
    return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ")


def queues_of(pid: int) -> list[str]:
    commands = [command_of(child) for child in children_of(pid)]
    return sorted(one.partition("--queues ")[2].partition(" ")[0] for one in commands)


def test_a_queue_that_does_not_exist_is_named_with_those_that_do(settings):
    settings.REDIS_URL = "redis://localhost:6379/0"
    with pytest.raises(CommandError, match=r"No such queue: messages\. There are: email, text, "):
        call_command("worker", "--queues", "email,messages")


def test_each_queue_has_its_own_and_one_that_dies_is_started_again(redis_database_url, tmp_path):
    environment = {
        **os.environ,
        "HALFMIL_REDIS_URL": redis_database_url,
        "HALFMIL_VAR_DIR": str(tmp_path),
        "HALFMIL_DATABASE_URL": f"sqlite:///{tmp_path / 'halfmil.sqlite3'}",
    }
    command = [sys.executable, "manage.py", "worker", "--queues", "email,text"]
    with (tmp_path / "log").open("wb") as log:
        process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=log, stderr=log)
    try:
        # A child that has only just been forked still bears its parent's command.
        first = wait_for(process, lambda: queues_of(process.pid) == ["email", "text"])
        with redis.Redis.from_url(redis_database_url) as client:
            # Both have taken up their queues: the broker knows them.
            bound = b"_kombu.binding.text"
            wait_for(process, lambda: client.exists(bound))
        os.killpg(int(first[0]), signal.SIGKILL)
        again = wait_for(
            process, lambda: len(found := children_of(process.pid)) == 2 and found != first
        )
        assert first[1] in again
        process.send_signal(signal.SIGTERM)
        assert process.wait(START_SECONDS) == 0
        assert not any(Path(f"/proc/{child}").exists() for child in again)
    finally:
        # Asked, not killed: it ends those that it keeps.
        process.terminate()
        process.wait(START_SECONDS)


def wait_for(process, holds):
    """Wait until something holds; return the children of that moment."""
    deadline = time.monotonic() + START_SECONDS
    while not holds():
        assert process.poll() is None
        assert time.monotonic() < deadline
        time.sleep(0.1)
    return children_of(process.pid)
