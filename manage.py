#!/usr/bin/env python
"""Command line of the project: ``python manage.py help`` lists what there is."""

import os
import sys

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line


def main() -> None:
    """Run one management command; a wrong setting ends it with one readable line."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.settings")
    try:
        # Read once here: Django itself keeps this error back for some commands
        # and shows it inside a traceback for the others.
        settings.INSTALLED_APPS  # noqa: B018
    except ImproperlyConfigured as error:
        sys.exit(f"{error}")
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
