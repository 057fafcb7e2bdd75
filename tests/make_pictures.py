"""Makes the README's pictures anew: `python tests/make_pictures.py`, with LibreOffice, pdftoppm and ImageMagick."""

import subprocess
import tempfile
from datetime import date
from decimal import Decimal as D
from pathlib import Path

import soffice
from click.testing import CliRunner
from make_sample_sheets import OFFERED

from quotebook import desk as desks
from quotebook.cli import main
from quotebook.engine.model import GRASS, FloorLine, Request
from quotebook.quoting.issuing import issue

PICTURES = Path(__file__).parent.parent / "sample_sheets" / "pictures"
PAGES = {
    "quote": ("quote", 1), "floor_plan": ("quote", 2), "revenue": ("revenue", 3), "payback": ("payback", 1),
    "today": ("desk_book", 1), "decisions": ("desk_book", 2), "options": ("options", 1),
}  # fmt: skip
"""Each picture, and the workbook and page that it shows."""
REQUEST = Request(
    client="Avelie Marsh", event="Wedding supper under a tent", event_date=date(2027, 6, 12),
    venue="The Long Meadow, Quillmere", days=D(1), surface=GRASS, miles=D("22.5"), flights=D(0), guests=D(120),
    waiver_taken=True, lines=(
        FloorLine("OAK-44", D(18), D(22), True), FloorLine("WHITE-23", D(10), D(10)), FloorLine("OAK-34", D(11), D(18)),
    ),
)  # fmt: skip


def make() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        quotes = {"quote": _quote(folder / "quote", REQUEST), "options": _quote(folder / "options", OFFERED)}
        books = quotes | {"desk_book": _desk_book(folder / "demo")} | _season(folder / "season")
        pdfs = dict(zip(books, soffice.convert(books.values(), folder / "pdf", to="pdf"), strict=True))
        for picture, (book, page) in PAGES.items():
            drawn = folder / picture
            pages = ["-f", str(page), "-l", str(page)]
            subprocess.run(["pdftoppm", "-r", "110", "-png", "-singlefile", *pages, pdfs[book], drawn], check=True)
            trimmed = ["-trim", "-bordercolor", "white", "-border", "18", "-colors", "64", "-strip"]
            subprocess.run(["convert", f"{drawn}.png", *trimmed, str(PICTURES / f"{picture}.png")], check=True)


def _quote(folder: Path, request: Request) -> Path:
    folder.mkdir(exist_ok=True)
    desk = desks.init(folder / "desk")
    path, _ = issue(desk, desk.card(), request, next(desk.numbers()), date(2027, 1, 4))
    return path.rename(folder / f"{folder.name}.xlsx")


def _desk_book(folder: Path) -> Path:
    """The desk book of the demo, in the middle of its season."""
    CliRunner().invoke(main, ["demo", str(folder)], catch_exceptions=False)
    return folder / "desk" / "desk_book.xlsx"


def _season(folder: Path) -> dict[str, Path]:
    """The books of the demo's two years."""
    CliRunner().invoke(main, ["demo", "--season", str(folder)], catch_exceptions=False)
    return {name: folder / f"{name}.xlsx" for name in ("revenue", "payback")}


if __name__ == "__main__":
    make()
