"""Screenshots of every screen in three widths: ``make shots``, after ``make demo``.

Serves the database of the demo on a free port, signs in and saves one picture for
each screen and width under ``var/shots`` (or the folder given). ``--dark`` takes
them in the dark scheme. Needs a Chromium.
"""

import argparse
import os
import sys
from pathlib import Path

import django

WIDTHS = (360, 900, 1400)


def main() -> int:
    """Take the screenshots; return the exit status."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=Path("var/shots"))
    parser.add_argument("--user", default="owner")
    parser.add_argument("--dark", action="store_true")
    parser.add_argument("--only", default="", help="names of screens, with commas")
    parser.add_argument("--widths", default=",".join(map(str, WIDTHS)))
    parser.add_argument("--top", action="store_true", help="only what a screen shows at once")
    given = parser.parse_args()

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    django.setup()
    from tests.browser import shooting  # noqa: PLC0415 - models are there only after setup

    return shooting.take(
        folder=given.folder,
        username=given.user,
        dark=given.dark,
        only=[name for name in given.only.split(",") if name],
        whole=not given.top,
        widths=[int(width) for width in given.widths.split(",")],
    )


if __name__ == "__main__":
    sys.exit(main())
