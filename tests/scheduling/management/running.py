"""Running a management command in this process, its exit status beside what it said."""

import io
from dataclasses import dataclass

from django.core.management import call_command


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    status: int
    out: str
    err: str


def run(*arguments: str) -> Done:
    """Run a command line to its end."""
    out, err = io.StringIO(), io.StringIO()
    status = 0
    try:
        call_command(*arguments, stdout=out, stderr=err)
    except SystemExit as left:
        status = int(left.code or 0)
    return Done(status, out.getvalue(), err.getvalue())
