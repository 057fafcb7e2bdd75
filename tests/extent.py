"""How many cases a test takes: enough for every change in the normal run, more with `--slow`."""

import os

import pytest

SLOW = "QUOTEBOOK_TESTS_SLOW"
"""Set by conftest.py before any test module is imported, in every process."""


def extent(usual: int, slow: int) -> int:
    """`usual` in the normal run, `slow` with `--slow`."""
    return slow if os.environ.get(SLOW) else usual


def some(cases, usual):
    """Cases as parameters of a test: those of `usual` in the normal run, all with `--slow`. A tuple is several."""
    marks = {case: [] if case in usual else [pytest.mark.slow] for case in cases}
    return [pytest.param(*(case if isinstance(case, tuple) else [case]), marks=marks[case]) for case in cases]
