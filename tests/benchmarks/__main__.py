"""Speed and scale, measured beside what a user would pick instead:

    python -m tests.benchmarks [--full] [--into FOLDER] [PART...]

from the root of the project. Prints a table of ratios, each of medians over at least five rounds in
which both sides took turns, and writes it to `results.json`, with every cost. `growth.json`, `files.svg`
and `floors.svg` show how costs grow. Under each row stands what is in it and what is out of it. The whole
of it takes under three minutes; with `--full`, which measures as many files, lines and quotes as the
reaches speak of, about an hour.
"""

import argparse
import json
import os
import platform
import sys
import tempfile
from collections.abc import Iterator
from functools import cache, partial
from importlib.metadata import version
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))  # where the tests' own modules are

import soffice

from quotebook.cli.options import spare_what_is_loaded

from . import books, buying, checking, desk_work, edits, growth, memory, processes, size, writing
from .made import Returns
from .measuring import ROUNDS, Row
from .plot import svg

REDUCED = {
    "requests": 1_000,
    "returns": 4,
    "quotes": 5,
    "list": 10,
    "lines": 50_000,
    "stock": 10_000,
    "files": (5, 20),
}
FULL = {
    "requests": 10_000,
    "returns": 200,
    "quotes": 200,
    "list": 2_000,
    "lines": 1_000_000,
    "stock": 100_000,
    "files": (10, 100, 1_000, 10_000),
}
PARTS = ("check", "edits", "processes", "issue", "revenue", "stock", "buying", "desk", "size", "memory", "growth")
"""Of the table; all of them if none is named."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--full", action="store_true", help="as many files, lines and quotes as the reaches speak of")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--into", type=Path, default=Path("build/benchmarks"), metavar="FOLDER")
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}")
    options = parser.parse_args()
    if unknown := {*options.parts} - {*PARTS}:
        parser.error(f"no part is called {', '.join(unknown)}: {', '.join(PARTS)}")
    options.into.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="benchmarks-") as folder:
        rows = []
        for row in measured(options.parts or PARTS, FULL if options.full else REDUCED, options, Path(folder)):
            print(in_words(row), flush=True)
            rows.append(row)
    written = {"machine": machine(), "rounds": options.rounds, "rows": [as_json(row) for row in rows]}
    (options.into / "results.json").write_text(json.dumps(written, indent=1) + "\n")


def measured(parts: tuple[str, ...], sizes: dict, options: argparse.Namespace, folder: Path) -> Iterator[Row]:
    """The rows of the table, each as soon as it is known."""
    rounds, new = max(options.rounds, 1), partial(_new, folder)

    @cache
    def returns() -> Returns:
        return Returns(new("returns"), sizes["returns"])

    rows = {
        "check": lambda: _of_checks(returns(), rounds),
        "edits": lambda: edits.rows(new("edits"), rounds),
        "processes": lambda: processes.rows(returns(), rounds),
        "issue": lambda: writing.rows(new("issue"), sizes["quotes"], rounds),
        "revenue": lambda: books.of_revenue(new("revenue"), sizes["lines"] // books.LINES_A_QUOTE, rounds),
        "stock": lambda: books.of_stock(new("stock"), sizes["stock"], rounds),
        "buying": lambda: buying.rows(sizes["requests"], rounds),
        "desk": lambda: desk_work.rows(new("desk"), sizes["quotes"]),
        "size": lambda: [size.row(new("size"))],
        "memory": lambda: memory.rows(returns(), new("memory"), sizes["files"], sizes["list"]),
        "growth": lambda: _of_growth(returns(), new("growth"), sizes["files"], rounds, options.into),
    }
    for part in PARTS:
        if part in parts:
            spare_what_is_loaded()
            yield from rows[part]()


def _of_checks(returns: Returns, rounds: int) -> Iterator[Row]:
    yield from checking.rows(returns, rounds)
    yield from checking.rows_of_saved(returns, rounds) if soffice.PROGRAM else ()


def _of_growth(returns: Returns, folder: Path, counts: tuple[int, ...], rounds: int, into: Path) -> Iterator[Row]:
    """Draws the charts as well."""
    files, floors = growth.by_files(returns, counts, rounds), growth.by_floors(folder, rounds)
    (into / "files.svg").write_text(svg("Cost of a check", "files", "ms a file", {"a file": files}, by_tens=True))
    (into / "floors.svg").write_text(svg("Cost of a cell", "floors", "µs a cell", floors))
    (into / "growth.json").write_text(json.dumps({"files": files, "floors": floors}, indent=1) + "\n")
    yield from growth.rows(files, floors)


def _new(folder: Path, name: str) -> Path:
    (folder / name).mkdir()
    return folder / name


def in_words(row: Row) -> str:
    reach = f"{'at least' if row.at_least else 'at most'} {row.reach:,g} {row.unit}"
    by_processor = f" (processor {row.by_processor:.2f})" if row.by_processor else ""
    value = f"{row.value:,.{0 if row.value > 1_000 else 2}f} {row.unit}{by_processor}"
    said = f"{'reached' if row.reached else 'missed':8} {row.work:53} | {row.beside:55} | {value:25} | {reach}"
    return f"{said}\n{'':9}{row.counted}" if row.counted else said


def as_json(row: Row) -> dict:
    """A row by its fields, and whether it is within reach."""
    costs = {name: cost._asdict() for name, cost in (row.costs or {}).items()}
    return vars(row) | {"costs": costs, "reached": row.reached}


def machine() -> dict:
    packages = ("click", "lxml", "openpyxl", "pandas", "sqlalchemy", "xlsxwriter")
    return {
        "system": platform.platform(), "cores": os.cpu_count(), "python": platform.python_version(),
        "packages": {name: version(name) for name in packages},
    }  # fmt: skip


if __name__ == "__main__":
    main()
