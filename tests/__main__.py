"""Runs the whole suite: ``make test``, or ``python -m tests [pytest arguments]``.

First everything on SQLite; then, where PostgreSQL answers, every test that uses
the database once more with PostgreSQL as the default database (without those in
a browser, whose pages the first run has driven already).
"""

import os
import subprocess
import sys

from tests import reachable

NO_TESTS_COLLECTED = 5


def run_pytest(arguments: list[str], database_url: str) -> int:
    """Run pytest in a process of its own and return its exit status."""
    environment = {**os.environ, "HALFMIL_DATABASE_URL": database_url}
    command = [sys.executable, "-m", "pytest", *arguments]
    return subprocess.run(command, env=environment, check=False).returncode


def main(arguments: list[str]) -> int:
    """Run the suite on both databases; return the first exit status that is not 0."""
    url, reason = reachable.postgres()
    if reason and reachable.required():
        print(f"HALFMIL_REQUIRE_SERVICES=1, but {reason}", file=sys.stderr)
        return 1
    in_parallel = ["-n", "2", *arguments]
    print("== The suite on SQLite", flush=True)
    follows = [] if reason else ["--postgres-follows"]
    on_sqlite = run_pytest([*in_parallel, *follows], "sqlite:///:memory:")
    if on_sqlite not in (0, NO_TESTS_COLLECTED):
        return on_sqlite
    if reason:
        print(f"== Not run a second time on PostgreSQL: {reason}", flush=True)
        return on_sqlite
    print("== Tests that use the database, on PostgreSQL", flush=True)
    on_postgres = run_pytest([*in_parallel, "--only-database"], url)
    # A part of the suite may well have no test for one of the two runs.
    if on_postgres == NO_TESTS_COLLECTED:
        return on_sqlite
    return on_postgres


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
