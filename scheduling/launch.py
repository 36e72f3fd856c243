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


def launch(run_id: int) -> None:
    """Start the search of one run; call this after its row is committed."""
    if settings.REDIS_URL:
        app.send_task(TASK, args=[run_id])
        return
    subprocess.Popen(  # noqa: S603 -- a command of our own, no shell
        [sys.executable, "manage.py", "plan_search", str(run_id), "--polite"],
        cwd=settings.BASE_DIR,
        env=dict(os.environ),
        stdin=subprocess.DEVNULL,
        start_new_session=True,
    )
