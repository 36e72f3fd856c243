"""``manage.py run``: the site and its clock together, on one machine."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

SITE_THREADS = 8
# Between two starts of a clock that ended, so that a broken one does not spin.
CLOCK_RESTART_SECONDS = 5.0
STOP_SECONDS = 10.0
LOOK_SECONDS = 0.2


def refuse_busy_port(host: str, port: int) -> None:
    """Raise ``CommandError`` where nothing can listen on ``host:port``."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        # As the server does: a port left a moment ago by another run is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except (OSError, OverflowError) as error:
            raise CommandError(
                f"Cannot listen on {host}:{port} ({error}). "
                f"Is the site running already? Another port: make run PORT={port + 1}"
            ) from error


class Command(BaseCommand):
    """Starts site and clock as two processes and ends with the site."""

    help = "Serve the site and run the periodic tasks, without a broker."

    def add_arguments(self, parser: CommandParser) -> None:
        """Add where to listen."""
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, **options: Any) -> None:
        """Watch both processes until the site ends or this one is told to stop."""
        host, port = options["host"], options["port"]
        refuse_busy_port(host, port)
        stopping = False

        def ask_to_stop(_number: int, _frame: FrameType | None) -> None:
            nonlocal stopping
            stopping = True

        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, ask_to_stop)
        site = self._start_site(host, port)
        clock, clock_started = self._start_clock(), time.monotonic()
        self.stdout.write(f"The site is at http://{host}:{port}/   Ctrl-C stops it.")
        self.stdout.flush()
        try:
            while not stopping and site.poll() is None:
                time.sleep(LOOK_SECONDS)
                rested = time.monotonic() - clock_started > CLOCK_RESTART_SECONDS
                if clock.poll() is not None and rested:
                    self.stderr.write(f"The clock ended ({clock.returncode}); started again.")
                    clock, clock_started = self._start_clock(), time.monotonic()
        finally:
            for process in (site, clock):
                self._stop(process)
        if not stopping:
            raise CommandError(f"The site ended by itself (exit status {site.returncode}).")

    def _start_site(self, host: str, port: int) -> subprocess.Popen[bytes]:
        address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        command = [
            *(sys.executable, "-m", "gunicorn", "shop.wsgi:application"),
            # One process: SQLite has one writer, and sign-in tries are counted in memory.
            *("--bind", address, "--workers", "1", "--threads", str(SITE_THREADS)),
            *("--log-level", "warning", "--no-control-socket"),
        ]
        return self._start(command)

    def _start_clock(self) -> subprocess.Popen[bytes]:
        return self._start([sys.executable, "manage.py", "clock"])

    def _start(self, command: list[str]) -> subprocess.Popen[bytes]:
        # A session of its own: Ctrl-C reaches this process alone, which then
        # stops both in order instead of three of them stopping at once.
        return subprocess.Popen(  # noqa: S603 -- a command of our own, no shell
            command, cwd=settings.BASE_DIR, env=dict(os.environ), start_new_session=True
        )

    def _stop(self, process: subprocess.Popen[bytes]) -> None:
        with contextlib.suppress(ProcessLookupError):
            process.terminate()
        try:
            process.wait(STOP_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
