"""Start a search outside the site's process: a solver would starve its pages.

With a broker a worker of the solver queue takes it. Without one a process of its own does: the
clock of ``make run`` has reminders to send meanwhile.
"""

from __future__ import annotations

import os
import subprocess
import sys

from django.conf import settings

from shop.celery import app

TASK = "scheduling.plan_improve"
POLITE = 10
"""How much a search gives way to the site on the same machine (``nice``)."""


def launch(run_id: int) -> None:
    """Start the search of one run; call this after its row is committed."""
    if settings.REDIS_URL:
        app.send_task(TASK, args=[run_id])
        return
    subprocess.Popen(  # noqa: S603 -- a command of our own, no shell
        [sys.executable, "manage.py", "plan_search", str(run_id)],
        cwd=settings.BASE_DIR,
        env=dict(os.environ),
        stdin=subprocess.DEVNULL,
        start_new_session=True,
        preexec_fn=_give_way,  # noqa: PLW1509 -- calls nothing but nice
    )


def _give_way() -> None:
    os.nice(POLITE)
