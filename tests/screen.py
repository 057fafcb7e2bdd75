"""Pictures of what a client sees: a windowed LibreOffice on a virtual display of 1366 x 768 pixels.

The display keeps its picture in a file (`Xvfb -fbdir`, in X11's format xwd), so nothing else is needed to take one.
`QUOTEBOOK_WINDOWED_SOFFICE` names a windowed LibreOffice where the one on the path is for servers.
"""

import os
import shutil
import signal
import struct
import subprocess
import tempfile
import time
from contextlib import contextmanager, suppress
from pathlib import Path

import numpy

SIZE = WIDTH, HEIGHT = 1366, 768
SECONDS = 60
"""So long a window may take until what it shows stays as it is."""
STILL = 1.5
"""So many seconds the picture must stay as it is."""


def _windowed() -> str | None:
    """A LibreOffice that can draw windows of its own, without a desktop's toolkit."""
    named = os.environ.get("QUOTEBOOK_WINDOWED_SOFFICE") or shutil.which("soffice")
    program = Path(named).resolve() if named else None
    return str(program) if program and (program.parent / "libvclplug_genlo.so").exists() else None


PROGRAM = _windowed() if shutil.which("Xvfb") else None


class Picture:
    """A picture of the display, by its pixels: rows of columns of red, green and blue."""

    def __init__(self, xwd: bytes) -> None:
        """`xwd` is a file of X11's xwd: a header of big-endian words, a table of colours, then rows of pixels."""
        head = struct.unpack(">25I", xwd[:100])
        header_size, width, height, bits, bytes_a_row, colours = (head[place] for place in (0, 4, 5, 11, 12, 19))
        if bits != 32:
            raise ValueError(f"{bits} bits a pixel")
        start = header_size + 12 * colours
        rows = numpy.frombuffer(xwd, numpy.uint8, height * bytes_a_row, start).reshape(height, bytes_a_row)
        self.pixels = rows[:, : 4 * width].reshape(height, width, 4)[:, :, 2::-1]

    def share_of(self, colour: str, left: float, top: float, right: float, bottom: float) -> float:
        """How much of a rectangle has a colour, written `1F5C4D`."""
        part = self.pixels[round(top) : round(bottom), round(left) : round(right)]
        return float((part == tuple(bytes.fromhex(colour))).all(axis=2).mean())

    def save(self, path: Path) -> None:
        """Write the picture as a PPM file, which every viewer and converter of pictures reads."""
        path.write_bytes(b"P6 %d %d 255\n" % (self.pixels.shape[1], self.pixels.shape[0]) + self.pixels.tobytes())


@contextmanager
def display():
    """A virtual display; gives its name for DISPLAY and the file of its picture."""
    with tempfile.TemporaryDirectory(prefix="screen-") as folder:
        reading, writing = os.pipe()
        command = ["Xvfb", "-displayfd", str(writing), "-screen", "0", f"{WIDTH}x{HEIGHT}x24", "-fbdir", folder]
        server = subprocess.Popen(
            [*command, "-nolisten", "tcp"], pass_fds=[writing], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(writing)
        try:
            with os.fdopen(reading) as number:
                yield f":{number.readline().strip()}", Path(folder) / "Xvfb_screen0"
        finally:
            server.terminate()
            server.wait()


def pictures(paths):
    """Opens workbooks one after another, each in a window that fills the display, and gives a picture of each."""
    with display() as (name, frame), tempfile.TemporaryDirectory(prefix="soffice-") as profile:
        (Path(profile) / "user").mkdir()
        (Path(profile) / "user" / "registrymodifications.xcu").write_text(QUIET)
        for path in paths:
            yield _picture(path, name, frame, profile)


def _picture(path: Path, name: str, frame: Path, profile: str) -> Picture:
    environment = {**os.environ, "DISPLAY": name, "SAL_USE_VCLPLUGIN": "gen"}
    options = [f"-env:UserInstallation={Path(profile).as_uri()}", "--nologo", "--norestore", "--nofirststartwizard"]
    program = subprocess.Popen(
        [PROGRAM, *options, "--calc", str(path)],
        env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
    )  # fmt: skip
    try:
        return _settled(frame)
    finally:
        with suppress(ProcessLookupError):
            os.killpg(program.pid, signal.SIGKILL)
        program.wait()
        Path(profile, "user", ".lock").unlink(missing_ok=True)
        Path(profile, ".lock").unlink(missing_ok=True)
        with suppress(FileNotFoundError):
            path.with_name(f".~lock.{path.name}#").unlink()


def _settled(frame: Path) -> Picture:
    """The picture once it shows a window and stays as it is."""
    blank, before, since = frame.read_bytes(), b"", time.monotonic()
    until = since + SECONDS
    while time.monotonic() < until:
        time.sleep(0.25)
        now = frame.read_bytes()
        if now != before:
            before, since = now, time.monotonic()
        elif now != blank and time.monotonic() - since >= STILL and _has_cells(Picture(now)):
            return Picture(now)
    raise TimeoutError(f"no window stayed as it was within {SECONDS} s")


def _has_cells(picture: Picture) -> bool:
    """Whether much of the middle is white, as cells are and an empty display or a splash is not."""
    return picture.share_of("FFFFFF", WIDTH * 0.3, HEIGHT * 0.4, WIDTH * 0.6, HEIGHT * 0.7) > 1 / 3


ITEM = (
    '<item oor:path="/org.openoffice.{path}"><prop oor:name="{name}" oor:op="fuse"><value>{value}</value></prop></item>'
)
SETTINGS = (
    ("Office.Common/Misc", "FirstRun", "false"), ("Office.Common/Misc", "ShowTipOfTheDay", "false"),
    ("Setup/Product", "ooSetupLastVersion", "7.4"),
)  # fmt: skip
"""Without which a first window greets its reader over the cells."""
QUIET = '<oor:items xmlns:oor="http://openoffice.org/2001/registry">{}</oor:items>'.format(
    "".join(ITEM.format(path=path, name=name, value=value) for path, name, value in SETTINGS)
)
