"""Tests: run as `python -m pytest`."""

import os

from generator.entry import THREADS

os.environ.setdefault(THREADS, "1")  # as the command itself does, before anything imports numpy
