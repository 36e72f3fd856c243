"""Does harm on purpose and counts what is left: ``make stress``.

Every ``round_*.py`` beside this file has a ``run(report, short) -> bool``. Each runs in a
process of its own on a PostgreSQL database of its own, copied from one that was migrated
here, and may kill, cut and fill whatever it likes there. ``python -m tests.stress --short``
is the small edition for CI; names choose some of the rounds.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests import reachable
from tests.stress.database import database

ROOT = Path(__file__).resolve().parents[2]


def round_names() -> list[str]:
    """Return the names of all rounds, without ``round_``."""
    files = Path(__file__).parent.glob("round_*.py")
    return sorted(file.stem.removeprefix("round_") for file in files)


def environment_with(url: str, var: str) -> dict[str, str]:
    """Return the environment of a round: its database, its folder, no broker, quiet."""
    outside = ("HALFMIL_REDIS_URL", "HALFMIL_MAIL", "HALFMIL_TEXT_GATEWAY_URL")
    kept = {name: value for name, value in os.environ.items() if name not in outside}
    return kept | {
        "HALFMIL_DATABASE_URL": url,
        "HALFMIL_VAR_DIR": var,
        "HALFMIL_LOG_LEVEL": os.environ.get("HALFMIL_LOG_LEVEL", "ERROR"),
    }


def run_round(name: str, flags: list[str], environment: dict[str, str]) -> bool:
    """Run one round; return whether it held."""
    print(f"== {name}", flush=True)
    started = time.monotonic()
    command = [sys.executable, "-m", "tests.stress.alone", name, *flags]
    done = subprocess.run(command, cwd=ROOT, env=environment, check=False)
    print(f"       {time.monotonic() - started:.1f} s", flush=True)
    return done.returncode == 0


def rounds(server: str, chosen: list[str], flags: list[str]) -> list[str]:
    """Run the chosen rounds, each on a copy of one migrated database; return who fell short."""
    base = f"halfmil_stress_{os.getpid()}"
    failed = []
    with (
        tempfile.TemporaryDirectory(prefix="halfmil stress ") as var,
        database(server, base) as url,
    ):
        migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
        subprocess.run(migrate, cwd=ROOT, env=environment_with(url, var), check=True)
        for name in chosen:
            with database(server, f"{base}_{name}", template=base) as own:
                if not run_round(name, flags, environment_with(own, var)):
                    failed.append(name)
    return failed


def main(arguments: list[str]) -> int:
    """Run all rounds, or those named; return 1 where a figure falls short, 2 for a wrong name."""
    flags = [word for word in arguments if word == "--short"]
    known, names = round_names(), [word for word in arguments if word not in flags]
    unknown = [name for name in names if name not in known]
    if unknown:
        print(f"No such round: {', '.join(unknown)}. There are: {', '.join(known)}; --short.")
        return 2
    server, reason = reachable.postgres()
    if reason:
        print(f"Not run: {reason}", file=sys.stderr)
        return 1 if reachable.required() else 0
    # So that the databases are dropped as well where somebody ends it.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    failed = rounds(server, names or known, flags)
    print(f"Fell short: {', '.join(failed)}" if failed else "Every demand was met.")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
