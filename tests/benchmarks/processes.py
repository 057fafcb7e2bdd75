"""Whole processes, as a user starts them."""

import subprocess
import sys
from collections.abc import Iterator
from functools import partial

from .made import Returns
from .measuring import Row, at_most, in_turn

QUOTEBOOK = (sys.executable, "-c", "from quotebook.cli import main; main()")
"""What the installed command does."""
ROUNDS = 2
"""Times the rounds of others, since each is short."""


def rows(returns: Returns, rounds: int) -> Iterator[Row]:
    """`check` records what it finds in the desk's ledger, as at any desk that has issued."""
    cost = in_turn({
        "click": partial(_run, sys.executable, "-c", "import click"),
        "help": partial(_run, *QUOTEBOOK, "--help"),
        "openpyxl": partial(_run, sys.executable, "-c", "import openpyxl"),
        "check": partial(_run, *QUOTEBOOK, "check", "--desk", str(returns.desk.folder), str(returns.files[0])),
    }, ROUNDS * rounds)  # fmt: skip
    whole, beside = "in: the start of Python and all that is loaded", 'python -c "import click"'
    yield at_most("quotebook --help, whole process", beside, 1.5, cost["help"], cost["click"], whole)
    beside = 'python -c "import openpyxl"'
    yield at_most(
        "check one file, whole process",
        beside,
        1.2,
        cost["check"],
        cost["openpyxl"],
        f"{whole}, recording and printing",
    )


def _run(*command: str) -> None:
    """Status 1 is a disputed quote."""
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    if done.returncode > 1 or done.stderr:
        raise RuntimeError(f"{' '.join(command)}: {done.stderr}")
