"""Memory that long work takes at its most, each in a process of its own (Linux: VmHWM)."""

import subprocess
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from quotebook import desk as desks

from .made import Returns, many
from .measuring import Row

FLAT = 1.1
"""Of what most files take to what the fewest take."""
MOST_OF_CHECK, MOST_OF_ISSUE = 80, 150
"""MB."""
WHOLE = "in: the whole process, with Python and all that is loaded"

THEN_PRINT_IT = """
import sys
{work}
with open("/proc/self/status") as status:
    sys.stderr.write(next(line for line in status if line.startswith("VmHWM")))
"""
COMMAND = """
from quotebook.cli import main
try:
    main()
except SystemExit as end:
    if end.code not in (None, 0, 1):
        raise
"""
"""What the installed command does. Status 1 is a disputed quote."""


def peak(work: str, *arguments: str) -> float:
    """Megabytes that a process takes at its most to do some work, which is Python with `arguments` in sys.argv."""
    program = (sys.executable, "-c", THEN_PRINT_IT.format(work=work), *arguments)
    done = subprocess.run(program, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    return int(done.stderr.splitlines()[-1].split()[1]) / 1024


def rows(returns: Returns, folder: Path, files: tuple[int, ...], requests: int) -> Iterator[Row]:
    taken = {count: _of_check(returns, folder / f"{count}", count) for count in (min(files), max(files))}
    work = f"check {max(files):,} files, one process, memory at its most"
    yield Row(work, "-", taken[max(files)], MOST_OF_CHECK, unit="MB", counted=WHOLE)
    yield Row(work, f"{min(files)} files", taken[max(files)] / taken[min(files)], FLAT)
    most = _of_issue(folder, requests)
    yield Row(f"issue a list of {requests:,}, memory at its most", "-", most, MOST_OF_ISSUE, unit="MB", counted=WHOLE)


def _of_check(returns: Returns, folder: Path, count: int) -> float:
    """The files are named by a pattern: Python itself keeps every name that it is started with four times."""
    folder.mkdir()
    desk, _ = many(returns, folder, count)
    return peak(COMMAND, "check", "--desk", str(desk.folder), "--jobs", "1", str(folder / "*.xlsx"))


def _of_issue(folder: Path, count: int) -> float:
    desk = desks.init(folder / "issuing")
    day = date.today() + timedelta(30)
    asked = [f"Client {n},{day},grass,OAK-44:{8 + n % 5 * 4}x8" for n in range(count)]
    path = folder / "requests.csv"
    path.write_text("\n".join(["client,event_date,surface,floor", *asked]), "utf-8")
    return peak(COMMAND, "issue", "--desk", str(desk.folder), "--requests", str(path))
