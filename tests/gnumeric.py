"""Gnumeric as one more arithmetic: `ssconvert`, which works every file out anew that it is told to.

The cached values of what it is given are poisoned all the same (`oracle.poisoned`), so that none can come back.
"""

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

PROGRAM = shutil.which("ssconvert")
SECONDS_A_FILE = 30


EXPORTS = {"xlsx": "Gnumeric_Excel:xlsx2", "ods": "Gnumeric_OpenCalc:odf"}


def convert(paths, folder, to: str = "xlsx") -> list[Path]:
    """`paths` recalculated and saved into `folder` as `to`, in the order given.

    Raises RuntimeError where an output is missing. What Gnumeric keeps for its user goes into a folder of its own.
    """
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    return [_converted(Path(path), folder / f"{Path(path).stem}.{to}") for path in paths]


def _converted(path: Path, output: Path) -> Path:
    with tempfile.TemporaryDirectory(prefix="gnumeric-") as home:
        done = subprocess.run(
            [PROGRAM, "--recalc", f"--export-type={EXPORTS[output.suffix[1:]]}", str(path), str(output)],
            check=False,  # what counts is whether the file is there
            capture_output=True,
            text=True,
            timeout=SECONDS_A_FILE,
            env={**os.environ, "HOME": home, "LC_ALL": "C.UTF-8"},
        )
    if not output.exists():
        raise RuntimeError(f"Gnumeric did not write {output.name}: {done.stderr}")
    return output
