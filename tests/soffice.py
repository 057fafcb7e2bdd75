"""LibreOffice as a second arithmetic and a second program: one process and one profile for all that is asked of it.

Whatever it loads here it recalculates, so that a cached value of ours can never come back as its
answer: by default it trusts the values that it finds in a file.
"""

import atexit
import functools
import json
import os
import shutil
import signal
import subprocess
import tempfile
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

PROGRAM = shutil.which("soffice")
SPEAKS_UNO = shutil.which("python3", path="/usr/bin")
"""The Python that a system installs `uno` for, which LibreOffice is spoken to with."""
SECONDS = 60
SECONDS_A_FILE = 5

FILTERS = {"xlsx": "xlsx:Calc MS Excel 2007 XML", "ods": "ods:calc8", "pdf": "pdf:calc_pdf_Export"}
"""Export filters by suffix: named, because LibreOffice picks another kind of document for some inputs."""

ALWAYS_RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
{items}
</oor:items>
"""
ITEM = (
    '<item oor:path="/org.openoffice.Office.Calc/Formula/Load">'
    '<prop oor:name="{mode}" oor:op="fuse"><value>0</value></prop></item>'
)


class Job(NamedTuple):
    """A workbook, where LibreOffice should save it, and the steps of `libreoffice_hand.py` before."""

    path: Path
    target: Path
    steps: Sequence[list] = ()


def convert(paths, folder, to: str = "xlsx") -> list[Path]:
    """`paths` recalculated and saved into `folder` as `to`, in the order given.

    The files need different names. Raises TimeoutError, and RuntimeError where an output is missing:
    LibreOffice ends with status 0 whatever happens.
    """
    paths, folder = [Path(path).absolute() for path in paths], Path(folder).absolute()
    jobs = [Job(path, folder / f"{path.stem}.{to}") for path in paths]
    outputs = [job.target for job in jobs]
    if len(set(outputs)) < len(outputs) or any(output.exists() for output in outputs):
        raise ValueError("each file needs a name of its own, and a folder without it")
    if can_be_spoken_to():
        work(jobs)
    else:
        in_a_process(paths, folder, to)
    return outputs


@functools.cache
def can_be_spoken_to() -> bool:
    """Whether LibreOffice can be told what to do while it runs: it takes the system's `python3-uno`."""
    asked = [SPEAKS_UNO, "-c", "import uno"] if PROGRAM and SPEAKS_UNO else ["false"]
    return subprocess.run(asked, capture_output=True, check=False).returncode == 0


def work(jobs: Sequence[Job]) -> None:
    """Opens, edits and saves workbooks in the LibreOffice that stays open, which is started where there is none.

    Raises TimeoutError, after which the next work starts another one, and RuntimeError where an output is missing.
    """
    said = office().do(jobs)
    _must_be_written([job.target for job in jobs], said)


def in_a_process(paths: list[Path], folder: Path, to: str) -> None:
    """The conversion by a LibreOffice of its own, where none can be spoken to."""
    with tempfile.TemporaryDirectory(prefix="soffice-") as profile:
        _write_profile(Path(profile))
        arguments = ["--headless", "--convert-to", FILTERS.get(to, to), "--outdir", str(folder), *map(str, paths)]
        said = _run([PROGRAM, f"-env:UserInstallation={Path(profile).as_uri()}", *arguments], _seconds(paths))
    _must_be_written([folder / f"{path.stem}.{to}" for path in paths], said)


@functools.cache
def office() -> "Office":
    """The LibreOffice of this process: its start takes longer than most of what it is asked."""
    return Office()


class Office:
    """A LibreOffice that stays open, and the hand that works in it, until the process ends that started it."""

    def __init__(self):
        self.profile = tempfile.TemporaryDirectory(prefix="soffice-")
        _write_profile(Path(self.profile.name))
        self.hand = subprocess.Popen(
            [SPEAKS_UNO, str(Path(__file__).parent / "libreoffice_hand.py"), PROGRAM, self.profile.name],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, start_new_session=True,
        )  # fmt: skip
        atexit.register(self.close)

    def do(self, jobs: Sequence[Job]) -> str:
        """What was said of work: nothing where all went well."""
        seconds = _seconds(jobs)
        too_long = threading.Timer(seconds, self._kill)
        too_long.start()
        print(json.dumps([job._asdict() for job in jobs], default=str), file=self.hand.stdin, flush=True)
        answer = self.hand.stdout.readline()
        if not too_long.is_alive():
            raise TimeoutError(f"LibreOffice took more than {seconds} s")
        too_long.cancel()
        if not answer:
            self._kill()
            return "it ended"
        return json.loads(answer)

    def close(self) -> None:
        """Ends it, and takes away its profile."""
        self.hand.stdin.close()
        try:
            self.hand.wait(20)
        except subprocess.TimeoutExpired:
            self._kill()
        self.hand.stdout.close()
        self.profile.cleanup()

    def _kill(self) -> None:
        """The hand has children of its own, so all of them end together."""
        office.cache_clear()
        os.killpg(self.hand.pid, signal.SIGKILL)


def _must_be_written(outputs: Sequence[Path], said: str) -> None:
    missing = [output.name for output in outputs if not output.exists()]
    if missing:
        raise RuntimeError(f"LibreOffice did not write {', '.join(missing)}: {said}")


def _write_profile(profile: Path) -> None:
    items = "\n".join(ITEM.format(mode=mode) for mode in ("OOXMLRecalcMode", "ODFRecalcMode"))
    (profile / "user").mkdir()
    (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS_RECALCULATE.format(items=items))


def _seconds(files: Sequence) -> int:
    return SECONDS + SECONDS_A_FILE * len(files)


def _run(command: list[str], seconds: int) -> str:
    """What the command said. `soffice` is a script with children of its own, so all of them end together."""
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True
    )
    try:
        return process.communicate(timeout=seconds)[0]
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        raise TimeoutError(f"LibreOffice took more than {seconds} s") from None
