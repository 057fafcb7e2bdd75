"""LibreOffice as a second arithmetic and a second program: one process, one profile, one batch.

Whatever it loads here it recalculates, so that a cached value of ours can never come back as its
answer: by default it trusts the values that it finds in a file.
"""

import os
import shutil
import signal
import subprocess
import tempfile
from pathlib import Path

PROGRAM = shutil.which("soffice")
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


def convert(paths, folder, to: str = "xlsx") -> list[Path]:
    """`paths` recalculated and saved into `folder` as `to`, in the order given.

    The files need different names. Raises TimeoutError, and RuntimeError where an output is missing:
    LibreOffice ends with status 0 whatever happens.
    """
    paths, folder = [Path(path) for path in paths], Path(folder)
    outputs = [folder / f"{path.stem}.{to}" for path in paths]
    if len(set(outputs)) < len(outputs) or any(output.exists() for output in outputs):
        raise ValueError("each file needs a name of its own, and a folder without it")
    with tempfile.TemporaryDirectory(prefix="soffice-") as profile:
        _write_profile(Path(profile))
        arguments = ["--headless", "--convert-to", FILTERS.get(to, to), "--outdir", str(folder), *map(str, paths)]
        said = _run([PROGRAM, f"-env:UserInstallation={Path(profile).as_uri()}", *arguments], _seconds(paths))
    missing = [output.name for output in outputs if not output.exists()]
    if missing:
        raise RuntimeError(f"LibreOffice did not write {', '.join(missing)}: {said}")
    return outputs


def _write_profile(profile: Path) -> None:
    items = "\n".join(ITEM.format(mode=mode) for mode in ("OOXMLRecalcMode", "ODFRecalcMode"))
    (profile / "user").mkdir()
    (profile / "user" / "registrymodifications.xcu").write_text(ALWAYS_RECALCULATE.format(items=items))


def _seconds(paths: list[Path]) -> int:
    return SECONDS + SECONDS_A_FILE * len(paths)


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
