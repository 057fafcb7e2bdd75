"""Holds the check against what spreadsheet programs show of mutated quotes.

    python tests/differential.py 2000 [--all] [--seed 1] [--kind "cell twice"]

makes so many mutants of real quotes, checks each, and shows those that the check lets pass (with `--all`, every one)
to LibreOffice and Gnumeric. It prints how many there were of each kind, how many were opened, in how many a program
shows something else than of the quote itself, and in how many it does so without a word of the check about that cell.
"""

import argparse
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import eyes
import gnumeric
import mutations
import soffice
import worked_example

from quotebook import desk as desks
from quotebook.checking.check import Report, check_file
from quotebook.checking.findings import AGREES, CHANGED, DISPUTED, UNREADABLE, VERDICTS
from quotebook.checking.kinds import Kind
from quotebook.contract.vocabulary import REPLIES
from quotebook.errors import Unreadable
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.reading import read_workbook

TODAY = date(2026, 6, 1)
STAMP = "stamp"
ROUND = 250
"""Mutants that are made, checked and shown before the next are."""


@dataclass
class Source:
    """A real quote as a program saved it, and what each program shows of it, before and after."""

    path: Path
    desk: object
    kinds: list[str]
    shown: dict = field(default_factory=dict)

    def __post_init__(self):
        self.parts = mutations.parts_of(self.path)
        self.cells = cells_of(self.path)
        book = read_workbook(self.path)
        named = [book.resolve(name) for name in REPLIES]
        self.replies = {(cell.sheet, cell.top, cell.left) for cell in named if cell}
        """The cells that a client answers in, and the line that the floor plan draws: whatever is there is theirs."""

    def is_empty_result(self, place: tuple) -> bool:
        """Whether a formula has no text as its result: as loaded, LibreOffice shows it now as nothing, now as 0."""
        cell = self.cells.get(place)
        return cell is not None and cell.formula is not None and cell.value in (None, "")


@dataclass
class Mutant:
    """A mutated quote, what the check has to say of it, and by program in which cells it differs from its source."""

    source: Source
    kind: str
    seed: int
    path: Path
    report: Report
    differing: dict = field(default_factory=dict)
    """Empty where a program was not shown it or did not open it; each cell is (when, place, what was, what is)."""

    @property
    def passes(self) -> bool:
        return self.report.verdict in (AGREES, CHANGED)

    def seen(self, program: str, shown: list | None) -> None:
        """Notes what a program shows of it."""
        if shown is not None:
            self.differing[program] = [
                (when, place, was.get(place), now.get(place))
                for when, (was, now) in enumerate(zip(self.source.shown[program], shown, strict=True))
                for place in was.keys() | now.keys()
                if was.get(place) != now.get(place)
            ]

    def overlooked(self) -> dict:
        """By program the cells in which it shows something else than was issued, and the check says nothing of them.

        Where an entry was changed, as the check says, or an answer was given, figures that rest on it are others, as
        they should be: there only the values that the file itself carries are looked at, and not even those where the
        check says that nothing has worked them out since, which Gnumeric does as it loads them.
        """
        if not self.passes:
            return {}
        told = {(finding.sheet, finding.cell) for finding in self.report.findings}
        own, ours = cells_of(self.path), self.source.cells
        replied = {place for place in self.source.replies if own.get(place) != ours.get(place)}
        is_changed = bool(replied) or self.report.verdict == CHANGED
        is_stale = any(finding.kind == Kind.NOT_RECALCULATED for finding in self.report.findings)
        found = {}
        for program, cells in self.differing.items():
            found[program] = [
                (when, place, was, now)
                for when, place, was, now in cells
                if place[0] != STAMP and (place[0], eyes.address(*place[1:])) not in told and place not in replied
                if (when, was, now) != (0, None, "0") or not self.source.is_empty_result(place)
                if not is_changed or (when == 0 and not is_stale and own.get(place) == ours.get(place))
            ]
        return {program: cells for program, cells in found.items() if cells}


def sources(folder: Path) -> list[Source]:
    """A quote as it was issued, as LibreOffice saves it in both formats, and as Gnumeric saves it."""
    desk = desks.init(folder / "desk")
    path, _ = issue(desk, desk.card(), worked_example.REQUEST, "Q0001", TODAY)
    found = [Source(path, desk, [*mutations.XLSX])]
    if soffice.PROGRAM:
        (as_ods,) = soffice.convert([path], folder, "ods")
        (as_xlsx,) = soffice.convert([as_ods], folder / "again", "xlsx")
        found += [Source(as_xlsx, desk, [*mutations.XLSX]), Source(as_ods, desk, [*mutations.ODS])]
    return found


def mutants(quotes: list[Source], count: int, first: int, folder: Path) -> list[Mutant]:
    """So many mutants, of each source and each kind in turn, every one checked; seeds count from `first`."""
    turns = [(source, kind) for source in quotes for kind in source.kinds]
    found: list[Mutant] = []
    seed = first
    while len(found) < count:
        for source, kind in turns:
            path = folder / f"{seed}-{len(found)}{source.path.suffix}"
            if len(found) < count and mutations.mutant(source.parts, kind, seed, path):
                found.append(Mutant(source, kind, seed, path, judged(path, source.desk)))
        seed += 1
    return found


def judged(path: Path, desk) -> Report:
    """The check's report; only its verdict where unknown content decides that alone, to save most of the time."""
    try:
        if read_workbook(path).unknown:
            return Report(str(path), DISPUTED, ())
    except Unreadable:
        return Report(str(path), UNREADABLE, ())
    return check_file(path, desk, TODAY)


def show(found: list[Mutant], quotes: list[Source], by_gnumeric: int) -> None:
    """Shows mutants, and their sources once, to LibreOffice, and so many of them to Gnumeric."""
    new = [quote for quote in quotes if not quote.shown]
    if soffice.PROGRAM:
        shown = eyes.by_libreoffice([each.path for each in [*new, *found]])
        for quote, cells in zip(new, shown, strict=False):
            quote.shown["LibreOffice"] = cells
        for each, cells in zip(found, shown[len(new) :], strict=True):
            each.seen("LibreOffice", cells)
    if gnumeric.PROGRAM:
        for quote in new:
            quote.shown["Gnumeric"] = eyes.by_gnumeric(quote.path)
        for each in found[:: len(found) // by_gnumeric] if by_gnumeric else ():
            each.seen("Gnumeric", eyes.by_gnumeric(each.path))


def cells_of(path: Path) -> dict:
    return {(sheet.name, *at): cell for sheet in read_workbook(path).sheets for at, cell in sheet.cells.items()}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--gnumeric", type=int, default=1, help="show every so many of them to Gnumeric")
    parser.add_argument("--kind", action="append")
    options = parser.parse_args()
    table = {kind: Counter() for kind in mutations.XLSX | mutations.ODS}
    with tempfile.TemporaryDirectory() as folder:
        quotes = sources(Path(folder))
        for quote in quotes:
            quote.kinds = [kind for kind in quote.kinds if not options.kind or kind in options.kind]
        for number in range(0, options.count, ROUND):
            with tempfile.TemporaryDirectory() as scratch:
                count = min(ROUND, options.count - number)
                made = mutants(quotes, count, options.seed + number * 1000, Path(scratch))
                shown = [each for each in made if options.all or each.passes]
                show(shown, quotes, len(shown) // options.gnumeric)
                count_in(table, made, shown)
            print_table(table)
    return 1 if any(counts["overlooked"] for counts in table.values()) else 0


def count_in(table: dict, made: list[Mutant], shown: list[Mutant]) -> None:
    """Counts mutants by kind, and prints those in which something was overlooked."""
    for each in made:
        table[each.kind].update(["made", each.report.verdict])
    for each in shown:
        overlooked = each.overlooked()
        said = {
            "shown": True,
            "opened": each.differing,
            "differ": any(each.differing.values()),
            "overlooked": overlooked,
        }
        table[each.kind].update(word for word, counts in said.items() if counts)
        if overlooked:
            kinds = sorted({str(finding.kind) for finding in each.report.findings})
            print(f"{each.kind} {each.seed} of {each.source.path.parent.name}/{each.source.path.name}: {kinds}")
            for program, cells in overlooked.items():
                print(f"    {program}: {len(cells)} cells, {cells[:2]}")


def print_table(table: dict) -> None:
    titles = ("made", *VERDICTS, "shown", "opened", "differ", "overlooked")
    print(f"{'':24}" + "".join(f"{title:>11}" for title in titles))
    for kind, counts in [*table.items(), ("in all", sum(table.values(), Counter()))]:
        print(f"{kind:24}" + "".join(f"{counts[title]:11}" for title in titles), flush=True)


if __name__ == "__main__":
    sys.exit(main())
