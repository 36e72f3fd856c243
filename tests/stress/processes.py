"""A Redis of its own and real workers, to be killed at will."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import redis

from tests.mailserver import free_port

ROOT = Path(__file__).resolve().parents[2]
ANSWER_SECONDS = 20.0
STOP_SECONDS = 60.0


class OwnRedis:
    """A redis-server on a port of its own that keeps nothing."""

    def __init__(self, folder: str) -> None:
        self._folder = folder
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self._process = self._start()

    def _start(self) -> subprocess.Popen[bytes]:
        command = ["redis-server", "--port", str(self.port), "--save", "", "--dir", self._folder]
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        deadline = time.monotonic() + ANSWER_SECONDS
        while True:
            with contextlib.suppress(redis.RedisError), redis.Redis.from_url(self.url) as client:
                client.ping()
                return process
            if time.monotonic() > deadline:
                raise RuntimeError("the private redis-server does not answer")
            time.sleep(0.05)

    def restart(self) -> None:
        """Kill it with all it holds and start it again."""
        self.stop()
        self._process = self._start()

    def stop(self) -> None:
        """Kill it."""
        self._process.kill()
        self._process.wait()


@contextlib.contextmanager
def own_redis() -> Iterator[OwnRedis]:
    """Give a private Redis; raises ``RuntimeError`` where there is no redis-server."""
    if shutil.which("redis-server") is None:
        raise RuntimeError("no redis-server on PATH")
    with tempfile.TemporaryDirectory(prefix="halfmil redis ") as folder:
        server = OwnRedis(folder)
        try:
            yield server
        finally:
            server.stop()


class Worker:
    """``manage.py worker`` for some queues, in a session of its own."""

    def __init__(self, settings: dict[str, str], log: Path, *arguments: str) -> None:
        self._environment = {**os.environ, **settings}
        self._command = [sys.executable, "manage.py", "worker", *arguments]
        self._log = log
        self.kills = 0
        self._process = self._start()

    def _start(self) -> subprocess.Popen[bytes]:
        with self._log.open("ab") as log:
            return subprocess.Popen(
                self._command,
                cwd=ROOT,
                env=self._environment,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    def kill(self) -> None:
        """End it and its children at once, as a power cut would."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self._process.pid, signal.SIGKILL)
            self.kills += 1

    def look_after(self) -> None:
        """Start it again where it has ended."""
        if self._process.poll() is not None:
            self._process = self._start()

    def stop(self) -> None:
        """Let it finish what it does, and end."""
        self._process.terminate()
        try:
            self._process.wait(STOP_SECONDS)
        except subprocess.TimeoutExpired:
            self.kill()
            self._process.wait()
