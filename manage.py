#!/usr/bin/env python
"""Run one of Django's or Lastbolt's commands: `python manage.py help` lists them."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitting.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(f"Settings: {error}")  # on standard error, and 1
