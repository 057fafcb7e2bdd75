"""How many cases a test takes: enough for every change in the normal run, more with `--slow`."""

import os

SLOW = "QUOTEBOOK_TESTS_SLOW"
"""Set by conftest.py before any test module is imported, in every process."""


def extent(usual: int, slow: int) -> int:
    """`usual` in the normal run, `slow` with `--slow`."""
    return slow if os.environ.get(SLOW) else usual
