"""Whole processes, as a user starts them."""

import subprocess
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from .made import Returns
from .measuring import Row, at_most, in_turn

QUOTEBOOK = (sys.executable, "-c", "from quotebook.cli import main; main()")
"""What the installed command does."""
ROUNDS = 4
"""Times the rounds of others, since each is short."""


def rows(returns: Returns, folder: Path, rounds: int) -> Iterator[Row]:
    file, desk = str(returns.files[0]), returns.desk.folder
    alone = folder / "without a ledger"
    alone.mkdir()
    for name in ("rate_card.xlsx", "signing.key", "issued"):
        (alone / name).symlink_to(desk / name)
    cost = in_turn({
        "click": partial(_run, sys.executable, "-c", "import click"),
        "help": partial(_run, *QUOTEBOOK, "--help"),
        "openpyxl": partial(_run, sys.executable, "-c", "import openpyxl"),
        "check": partial(_run, *QUOTEBOOK, "check", "--desk", str(alone), file),
        "recorded": partial(_run, *QUOTEBOOK, "check", "--desk", str(desk), file),
    }, ROUNDS * rounds)  # fmt: skip
    yield at_most("quotebook --help, whole process", 'python -c "import click"', 1.5, cost["help"], cost["click"])
    beside = 'python -c "import openpyxl"'
    yield at_most("check one file, whole process", beside, 1.5, cost["check"], cost["openpyxl"])
    yield at_most("the same, recorded in the desk's ledger", beside, 1.5, cost["recorded"], cost["openpyxl"])


def _run(*command: str) -> None:
    """Status 1 is a disputed quote."""
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    if done.returncode > 1 or done.stderr:
        raise RuntimeError(f"{' '.join(command)}: {done.stderr}")
