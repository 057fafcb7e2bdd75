"""How the cost of a check grows with the number of files, and with the floors in each."""

from collections.abc import Iterator
from functools import partial
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from quotebook import desk as desks
from quotebook.client.workbook import write_quote
from quotebook.demonstration.demo import EVENTS, retype
from quotebook.desk import Desk
from quotebook.engine.model import LINES
from quotebook.quoting.issuing import issue, issue_of
from quotebook.spreadsheets.reading import read_workbook

from .checking import check
from .made import TODAY, Returns, many, with_floors
from .measuring import Row, in_turn

FLAT = 1.25
"""Of what most costs to what least costs."""
FLOORS = (1, 3, LINES)
COPIES = 2
"""Of a file, so that there is something to measure."""

Points = dict[int, float]
"""Milliseconds, or microseconds for a cell, by what grows."""


def by_files(returns: Returns, counts: tuple[int, ...], rounds: int) -> Points:
    """Milliseconds for a file, by how many are checked in one process at a desk that has issued as many."""
    with TemporaryDirectory() as folder:
        works = {}
        for count in counts:
            (Path(folder) / f"{count}").mkdir()
            works[count] = partial(check, *many(returns, Path(folder) / f"{count}", count))
        return {count: 1e3 * cost.cpu / count for count, cost in in_turn(works, rounds).items()}


def by_floors(folder: Path, rounds: int) -> dict[str, Points]:
    """Microseconds for a cell of a quote, by its floors: to issue it, to check it as issued and with each one changed.

    Each change is priced alone, so a file with more of them has more to be worked out.
    """
    desk = desks.init(folder / "floors")
    works, cells = {}, {}
    for floors in FLOORS:
        kinds = _of_floors(desk, folder, floors)
        works |= {(name, floors): work for name, work in kinds.items()}
        cells[floors] = sum(len(sheet.cells) for sheet in read_workbook(folder / f"as-issued-{floors}.xlsx").sheets)
    points: dict[str, Points] = {name: {} for name, _ in works}
    for (name, floors), cost in in_turn(works, rounds).items():
        points[name][floors] = 1e6 * cost.cpu / COPIES / cells[floors]
    return points


def _of_floors(desk: Desk, folder: Path, floors: int) -> dict:
    request, card = with_floors(EVENTS[0], floors), desk.card()
    path, content = issue(desk, card, request, next(desk.numbers()), TODAY)
    larger = {f"width_{line}": content.inputs[f"width_{line}"] + 1 for line in range(1, floors + 1)}
    same = retype(path, folder / f"as-issued-{floors}.xlsx", content, {})
    changed = retype(path, folder / f"changed-{floors}.xlsx", content, larger)
    whole = issue_of(card, request, "Q0001", TODAY)

    def write() -> None:
        for _ in range(COPIES):
            write_quote(BytesIO(), whole, desk.key())

    return {
        "issue": write, "check, as issued": partial(check, desk, [same] * COPIES),
        "check, each floor changed": partial(check, desk, [changed] * COPIES),
    }  # fmt: skip


def rows(files: Points, floors: dict[str, Points]) -> Iterator[Row]:
    yield Row(
        f"a file's check, {min(files):,} to {max(files):,} files", "the most beside the least", _spread(files), FLAT
    )
    for name, points in floors.items():
        yield Row(f"{name}: a cell, 1 to {LINES} floors", "the most beside the least", _spread(points), FLAT)


def _spread(points: Points) -> float:
    return max(points.values()) / min(points.values())
