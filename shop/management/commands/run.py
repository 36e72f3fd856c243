"""``manage.py run``: the site and its clock together, on one machine."""

import socket
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.first_run import first_run_key, first_run_wanted
from shop.processes import LOOK_SECONDS, Asked, Kept, stop

SITE_THREADS = 8
# The clock brings the message that it is sending to its end.
STOP_SECONDS = 25.0


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
        asked = Asked()
        site = Kept("site", self._site(host, port))
        clock = Kept("clock", ["manage.py", "clock"])
        self.stdout.write(f"The site is at http://{host}:{port}/   Ctrl-C stops it.")
        if first_run_wanted():
            address = f"http://{host}:{port}/start/shop/{first_run_key()}/"
            self.stdout.write(f"There is no shop yet. Make yours at {address}")
        self.stdout.flush()
        try:
            while not asked and not site.ended:
                time.sleep(LOOK_SECONDS)
                clock.look_after(self.stderr.write)
        finally:
            stop([site, clock], within_seconds=STOP_SECONDS)
        if not asked:
            raise CommandError(f"The site ended by itself (exit status {site.process.returncode}).")

    def _site(self, host: str, port: int) -> list[str]:
        address = f"[{host}]:{port}" if ":" in host else f"{host}:{port}"
        return [
            *("-m", "gunicorn", "shop.wsgi:application"),
            # One process: SQLite has one writer, and sign-in tries are counted in memory.
            *("--bind", address, "--workers", "1", "--threads", str(SITE_THREADS)),
            *("--log-level", "warning", "--no-control-socket"),
        ]
