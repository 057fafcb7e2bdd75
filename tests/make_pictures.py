"""Makes the README's pictures anew: `python tests/make_pictures.py`, with LibreOffice, pdftoppm and ImageMagick installed."""

import subprocess
import tempfile
from datetime import date
from decimal import Decimal as D
from pathlib import Path

import soffice
from quotebook import desk as desks
from quotebook.engine.model import GRASS, FloorLine, Request
from quotebook.quoting.issuing import issue

PICTURES = Path(__file__).parent.parent / "sample_sheets" / "pictures"
PAGES = {"quote": 1, "floor_plan": 2}
"""Each picture, and the page of the client's workbook that it shows."""
REQUEST = Request(
    client="Avelie Marsh", event="Wedding supper under a tent", event_date=date(2027, 6, 12),
    venue="The Long Meadow, Quillmere", days=D(1), surface=GRASS, miles=D("22.5"), flights=D(0), guests=D(120),
    waiver_taken=True, lines=(
        FloorLine("OAK-44", D(18), D(22), True), FloorLine("WHITE-23", D(10), D(10)), FloorLine("OAK-34", D(11), D(18)),
    ),
)  # fmt: skip


def make() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        desk = desks.init(Path(folder) / "desk")
        path, _ = issue(desk, desk.card(), REQUEST, desk.next_number(), date(2027, 1, 4))
        [pdf] = soffice.convert([path], Path(folder) / "pdf", to="pdf")
        for name, page in PAGES.items():
            drawn = Path(folder) / name
            subprocess.run(["pdftoppm", "-r", "110", "-png", "-singlefile", "-f", str(page), "-l", str(page), pdf, drawn], check=True)
            trimmed = ["-trim", "-bordercolor", "white", "-border", "18", "-colors", "64", "-strip"]
            subprocess.run(["convert", f"{drawn}.png", *trimmed, str(PICTURES / f"{name}.png")], check=True)


if __name__ == "__main__":
    make()
