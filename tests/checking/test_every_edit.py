"""Every edit of an issued quote that a hand can make, one at a time: each is found, as what it is, where it is.

The walk goes over all named cells, and over all others, of a workbook with three floors and tables of
several rows. Edits are made in the file itself and nothing is worked out again, so an edit that changes
a figure leaves the file stale as well, and the check has to say just that besides.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal as D
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import pytest
from edits import MAIN, Book, Edit
from test_appearance import ADDED, PLACES

from quotebook import desk as desks
from quotebook.checking.check import check_file, returned_quote
from quotebook.contract.stamp import stamp_texts
from quotebook.contract.vocabulary import INPUTS, OPTION_INPUTS, REPLIES
from quotebook.demonstration.demo import EVENTS
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress, Fault
from quotebook.spreadsheets.formula_text import names_in
from quotebook.spreadsheets.reading import read_workbook

TODAY = date(2026, 11, 2)
DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
NORMAL = 2
"""Edits of each class in a normal run, its first and its last; all of them with --slow."""

REQUEST = replace(
    EVENTS[1], flights=D(1), waiver_taken=True, discount_share=D("0.05"), lines=(*EVENTS[1].lines, EVENTS[0].lines[0])
)
"""Three floors, one of them over a subfloor; every kind of charge."""


class Expected(NamedTuple):
    kind: str
    name: str = ""
    sheet: str = ""
    cell: str = ""


def at(kind: str, place: CellAddress, name: str = "") -> Expected:
    return Expected(kind, name, place.sheet, place.cell)


@dataclass(frozen=True)
class Case:
    what: str
    edit: Callable[[Edit], object]
    expected: tuple[Expected, ...]
    """Every finding, but for `not-recalculated` where it is not said whether the figures are worked out."""
    worked_out: bool = False
    today: date = TODAY
    book: Book | None = None
    """Another than the one that is walked."""


class Walk:
    """An issued quote, and every edit of it by class."""

    def __init__(self, folder: Path):
        self.folder, self.desk = folder, desks.init(folder / "desk")
        self.card = self.desk.card()
        path, _ = issue(self.desk, self.card, REQUEST, "Q0001", TODAY)
        self.content = returned_quote(path, self.desk).content
        self.others_stamp = stamp_texts(read_workbook(issue(self.desk, self.card, EVENTS[0], "Q0002", TODAY)[0]))
        self.book, self.superseded = Book(path), Book(issue(self.desk, self.card, REQUEST, "Q0003", TODAY)[0])
        issue(self.desk, self.card, REQUEST, "Q0003", TODAY, revision=2)
        self.places = {name: CellAddress(*place) for name, place in self.content.places.items()}

    def check(self, case: Case):
        edit = (case.book or self.book).edit()
        case.edit(edit)
        return check_file(edit.save(self.folder / "back.xlsx"), self.desk, case.today)

    def trouble(self, case: Case) -> str:
        """What is wrong with the report on a case; nothing where it is as it should be."""
        report = self.check(case)
        found = [finding for finding in report.findings if case.worked_out or finding.kind != "not-recalculated"]
        said = Counter((finding.kind, finding.name, finding.sheet, finding.cell) for finding in found)
        due = Counter(map(tuple, case.expected))
        if said != due:
            return f"{case.what}: {sorted((said - due).elements())} but not {sorted((due - said).elements())}"
        if report.remainder:
            return f"{case.what}: {report.remainder} of the total is unexplained by {report.findings}"
        return ""

    # What there is to edit

    def table_cells(self) -> Iterator[tuple[str, CellAddress, object]]:
        for name, values in self.content.tables.items():
            sheet, row, column = self.places[name]
            for down, value in enumerate(values):
                for across, each in enumerate(value if isinstance(value, list) else [value]):
                    yield name, CellAddress(sheet, row + down, column + across), each

    def owners_cells(self) -> Iterator[tuple[str, CellAddress, object]]:
        for name, value in self.content.owner.items():
            yield name, self.places[name], value
        yield from self.table_cells()

    def fixed_cells(self) -> Iterator[tuple[CellAddress, object]]:
        for sheet, cells in self.content.fixed.items():
            yield from ((CellAddress(sheet, row, column), said) for row, column, said in cells)

    def single(self, sheet: str) -> list[tuple[str, CellAddress]]:
        """The names of single cells on a sheet."""
        tables = self.content.tables
        return [(name, place) for name, place in self.places.items() if place.sheet == sheet and name not in tables]

    def on(self, sheet: str) -> list[CellAddress]:
        """The cells of a sheet that hold something; of a column of a table, the first."""
        return [place for place in (*self.places.values(), *(p for p, _ in self.fixed_cells())) if place.sheet == sheet]

    def blank_cells(self) -> Iterator[CellAddress]:
        """Cells beside and under what is on each sheet."""
        taken = (
            {place for place, _ in self.fixed_cells()} | {*self.places.values()} | {p for _, p, _ in self.table_cells()}
        )
        for sheet in self.content.fixed:
            rows = {place.row for place in taken if place.sheet == sheet}
            for row in sorted(rows | {max(rows) + 1}):
                for column in range(1, 16):
                    if CellAddress(sheet, row, column) not in taken:
                        yield CellAddress(sheet, row, column)


CLASSES = {}


def a_class(kind: str):
    """Registers a generator of cases under the first line of its docstring; `kind` is what they are found as."""

    def register(function):
        title = function.__doc__.partition("\n")[0].removesuffix(".")
        assert title not in CLASSES
        CLASSES[title] = (kind, function)
        return function

    return register


def another(value):
    """Another value of the same sort."""
    if isinstance(value, D):
        return value + 1
    return "Other" if value is None else f"{value}x"


# The owner's cells


def _owners(walk: Walk, make, leave_out=()) -> Iterator[Case]:
    for name, place, value in walk.owners_cells():
        new = make(value)
        if new is not ... and name not in leave_out:
            yield Case(
                f"{name} {place.cell} {value!r} -> {new!r}",
                lambda e, p=place, v=new: e.put(p, v),
                (at("rate-changed", place, name),),
            )


@a_class("rate-changed")
def rates(walk):
    """A rate, a word or a number of the quote's changed."""
    return _owners(walk, another)


@a_class("rate-changed")
def rates_blanked(walk):
    """A rate, a word or a number of the quote's cleared."""
    return _owners(walk, lambda value: None if value not in (None, "", 0) else ...)


@a_class("rate-changed")
def rates_as_text(walk):
    """A rate stored as text."""
    nothing_computes_with_it = ("revision", "step_limit")
    return _owners(walk, lambda value: str(value) if isinstance(value, D) and value else ..., nothing_computes_with_it)


@a_class("no finding")
def same_characters(walk):
    """A number stored as a text, or a text as a number, of the same digits, where nothing computes with it."""
    place = walk.places["revision"]
    yield Case("revision", lambda e, p=place: e.put(p, "1"), ())
    for place, said in walk.fixed_cells():
        if isinstance(said, D):
            yield Case(f"{place}", lambda e, p=place, v=said: e.put(p, str(v)), ())
        elif isinstance(said, str) and said.isdecimal():
            yield Case(f"{place}", lambda e, p=place, v=said: e.put(p, D(v)), ())


@a_class("no finding")
def spaces_at_the_ends(walk):
    """Spaces or a line break at the ends of a text that nothing computes with."""
    said = {place: text for place, text in walk.fixed_cells() if isinstance(text, str) and not text.startswith("=")}
    said |= {walk.places[name]: walk.content.inputs[name] for name in ("client", "event", "venue")}
    for place, text in said.items():
        yield Case(f"{place}", lambda e, p=place, t=text: e.put(p, f" {t} \n"), ())


@a_class("text-changed")
def line_breaks_inside(walk):
    """Sixty line breaks put inside a label or a term."""
    for place, said in walk.fixed_cells():
        if isinstance(said, str) and " " in said and not said.startswith("="):
            new = said.replace(" ", "\n" * 60, 1)
            yield Case(f"{place}", lambda e, p=place, t=new: e.put(p, t), (at("text-changed", place),))


@a_class("rate-changed")
def rates_as_errors(walk):
    """A rate that has become an error, or TRUE."""
    yield from _owners(walk, lambda value: Fault("#REF!"))
    yield from _owners(walk, lambda value: True)


@a_class("rate-changed")
def rates_as_formulas(walk):
    """A rate put in as a formula of the same value."""
    for name, place, value in walk.owners_cells():
        if isinstance(value, D):
            yield Case(
                f"{name} {place.cell}",
                lambda e, p=place, v=value: e.formula(p, f"{v}*1"),
                (at("rate-changed", place, name),),
            )


# Formulas


def _formulas(walk: Walk, kind: str, make, put) -> Iterator[Case]:
    for name, formula in walk.content.formulas.items():
        new = make(name, formula)
        if new is not ...:
            place = walk.places[name]
            yield Case(f"{name} -> {new!r}"[:90], lambda e, p=place, v=new: put(e, p, v), (at(kind, place, name),))


@a_class("formula-replaced")
def typed_over(walk):
    """A formula typed over with another value."""
    return _formulas(walk, "formula-replaced", lambda name, formula: another(walk.content.results[name]), Edit.put)


@a_class("formula-replaced")
def typed_over_alike(walk):
    """A formula typed over with the very value that it had."""
    return _formulas(walk, "formula-replaced", lambda name, formula: walk.content.results[name], Edit.put)


@a_class("formula-replaced")
def cleared(walk):
    """A formula cleared."""
    return _formulas(walk, "formula-replaced", lambda name, formula: None, Edit.put)


@a_class("formula-altered")
def multiplied(walk):
    """A formula multiplied by a factor."""
    return _formulas(walk, "formula-altered", lambda name, formula: f"({formula})*0.9", Edit.formula)


@a_class("formula-altered")
def discounted(walk):
    """A discount subtracted from a formula."""
    return _formulas(walk, "formula-altered", lambda name, formula: f"{formula}-5", Edit.formula)


@a_class("formula-altered")
def swapped(walk):
    """A name in a formula swapped for another."""

    def with_another_name(name, formula):
        used = next((each for each in walk.content.places if each in formula and each != "event"), None)
        return formula.replace(used, "event_date") if used else ...

    return _formulas(walk, "formula-altered", with_another_name, Edit.formula)


@a_class("formula-altered")
def unrounded(walk):
    """A formula without its rounding."""
    return _formulas(
        walk,
        "formula-altered",
        lambda name, formula: formula.replace("ROUND(", "(", 1) if "ROUND(" in formula else ...,
        Edit.formula,
    )


# Names


@a_class("name-missing")
def names_deleted(walk):
    """A name deleted."""
    for name, place in walk.places.items():
        yield Case(name, lambda e, n=name: e.forget(n), (at("name-missing", place, name),))


def _pointed(walk: Walk, where) -> Iterator[Case]:
    for name in walk.places:
        place = where(name)
        if place:
            target = f"'{place.sheet}'!${_letters(place)}${place.row}"
            yield Case(
                f"{name} to {place}", lambda e, n=name, t=target: e.point(n, t), (at("name-redirected", place, name),)
            )


def _letters(place: CellAddress) -> str:
    return place.cell.rstrip("0123456789")


@a_class("name-redirected")
def names_beside(walk):
    """A name pointed at the cell beside its own."""
    return _pointed(walk, lambda name: walk.places[name]._replace(column=walk.places[name].column + 1))


@a_class("name-redirected")
def names_below(walk):
    """A name pointed at the cell below its own."""
    return _pointed(walk, lambda name: walk.places[name]._replace(row=walk.places[name].row + 1))


@a_class("name-redirected")
def names_at_nothing(walk):
    """A name pointed at an empty cell far from all others."""
    return _pointed(walk, lambda name: walk.places[name]._replace(row=400, column=240))


@a_class("name-redirected")
def names_elsewhere(walk):
    """A name pointed at another name's cell, on any sheet."""
    others = [*walk.places.values()]
    return _pointed(walk, lambda name: others[(others.index(walk.places[name]) + 97) % len(others)])


@a_class("name-doubled")
def names_doubled(walk):
    """A second meaning of a name on one sheet."""
    for name in walk.places:
        for sheet in walk.content.fixed:
            expected = Expected("name-doubled", name, sheet)
            yield Case(f"{name} on {sheet}", lambda e, n=name, s=sheet: e.double(n, s, "'Quote'!$B$99"), (expected,))


# Entries


LEGAL = {
    "text": "Somebody else",
    "date": D(46600),
    "whole": D(3),
    "number": D("7.5"),
    "surface": "hard indoors",
    "yes_no": ...,
}


def _used() -> list[str]:
    """The entries in use of a quote that offers no options."""
    names = [name for name in INPUTS if name not in OPTION_INPUTS]
    return [name for name in names if not name[-1].isdigit() or int(name[-1]) <= len(REQUEST.lines)]


def _entries(walk: Walk, value, usable: set[str]) -> Iterator[Case]:
    """Each entry with one value; it is a change where the entry's kind is among `usable`, else it cannot be used."""
    for name in _used():
        now = walk.content.inputs[name]
        if now == value or (now is None and value is None):
            continue
        kind = "input-changed" if name in usable or KINDS[name] in usable else "input-invalid"
        place = walk.places[name]
        yield Case(f"{name} {value!r}", lambda e, p=place, v=value: e.put(p, v), (at(kind, place, name),))


KINDS = (
    INPUTS
    | {name: "side" for name in INPUTS if name.startswith(("width_", "length_"))}
    | {name: "panel" for name in INPUTS if name.startswith("panel_")}
)


@a_class("input-changed")
def entries_changed(walk):
    """An entry changed to another that can be used."""
    for name in _used():
        place, kind, now = walk.places[name], INPUTS[name], walk.content.inputs[name]
        new = (
            "WHITE-23"
            if name.startswith("panel_")
            else ("no" if now == "yes" else "yes")
            if kind == "yes_no"
            else LEGAL[kind]
        )
        if new != now:
            yield Case(f"{name} {new}", lambda e, p=place, v=new: e.put(p, v), (at("input-changed", place, name),))


@a_class("input-formula")
def entries_as_formulas(walk):
    """An entry put in as a formula of the same value."""
    for name in _used():
        if isinstance(walk.content.inputs[name], D):
            place, same = walk.places[name], f"{walk.content.inputs[name]}+0"
            yield Case(name, lambda e, p=place, f=same: e.formula(p, f), (at("input-formula", place, name),))


@a_class("input-formula")
def answers_as_formulas(walk):
    """An answer put in as a formula."""
    for name in REPLIES:
        place = walk.places[name]
        yield Case(name, lambda e, p=place: e.formula(p, "1+0"), (at("input-formula", place, name),))


@a_class("no finding")
def answers(walk):
    """An answer typed: yes, no or anything else, a name, a day, a question."""
    for name, value in (
        ("accepted", "yes"), ("accepted", "no"), ("accepted", "if dry"), ("accepted_by", "A"), ("questions", "When?"),
    ):  # fmt: skip
        yield Case(f"{name} {value}", lambda e, p=walk.places[name], v=value: e.put(p, v), ())


@a_class("input-changed")
def lines_emptied(walk):
    """A floor line emptied, or one filled in that was empty."""
    for line in range(1, len(REQUEST.lines) + 1):
        places = [walk.places[f"{name}_{line}"] for name in ("panel", "width", "length", "edging_wanted")]
        edit = lambda e, gone=places: [e.put(place, None) for place in gone]  # noqa: E731
        yield Case(f"line {line} emptied", edit, (at("input-changed", places[0], f"panel_{line}"),))
    line = len(REQUEST.lines) + 1
    filled = dict(zip((f"panel_{line}", f"width_{line}", f"length_{line}"), ("WHITE-23", D(8), D(9)), strict=True))
    edit = lambda e: [e.put(walk.places[name], value) for name, value in filled.items()]  # noqa: E731
    yield Case(f"line {line} added", edit, (at("input-changed", walk.places[f"panel_{line}"], f"panel_{line}"),))


@a_class("input-changed, input-invalid")
def entries_blanked(walk):
    """An entry cleared."""
    return _entries(walk, None, {"text", "yes_no", "miles", "flights", "guests"})


@a_class("input-changed, input-invalid")
def entries_negative(walk):
    """An entry of -5."""
    return _entries(walk, D(-5), {"text"})


@a_class("input-changed, input-invalid")
def entries_absurd(walk):
    """An entry of 1,000,000,000."""
    return _entries(walk, D(10**9), {"text"})


@a_class("input-changed, input-invalid")
def entries_of_dates(walk):
    """A date, where a number or anything else goes."""
    return _entries(walk, D(46500), {"date", "text"})


@a_class("input-changed, input-invalid")
def entries_of_text(walk):
    """`lots`, `1,5`, `12'` and `16 x 20`, where a number or anything else goes."""
    for text in ("lots", "1,5", "12'", "16 x 20", "٣"):
        yield from _entries(walk, text, {"text"})


@a_class("input-invalid")
def entries_as_text(walk):
    """A number stored as text."""
    for name in _used():
        if isinstance(walk.content.inputs[name], D):
            place, text = walk.places[name], str(walk.content.inputs[name])
            yield Case(name, lambda e, p=place, v=text: e.put(p, v), (at("input-invalid", place, name),))


@a_class("input-invalid")
def entries_of_another_sort(walk):
    """TRUE, or an error, where anything else goes."""
    yield from _entries(walk, True, set())
    yield from _entries(walk, Fault("#N/A"), set())


@a_class("input-invalid")
def unfinished_lines(walk):
    """One entry on a floor line that has no other."""
    line = len(REQUEST.lines) + 1
    names = [f"{name}_{line}" for name in ("panel", "width", "length")]
    for name, value in zip(names, ("WHITE-23", D(8), D(8)), strict=True):
        expected = [at("input-invalid", walk.places[other], other) for other in names if other != name]
        expected.append(at("input-changed", walk.places[name], name))
        yield Case(name, lambda e, p=walk.places[name], v=value: e.put(p, v), tuple(expected))


# Everything else on the sheets


@a_class("text-changed")
def texts_changed(walk):
    """A label, a heading, a term or a figure shown twice, changed."""
    for place, said in walk.fixed_cells():
        yield Case(f"{place} {said!r}"[:70], lambda e, p=place: e.put(p, "Not so"), (at("text-changed", place),))


@a_class("text-changed")
def texts_cleared(walk):
    """A label, a heading, a term or a figure shown twice, cleared."""
    for place, said in walk.fixed_cells():
        yield Case(f"{place} {said!r}"[:70], lambda e, p=place: e.put(p, None), (at("text-changed", place),))


@a_class("text-changed")
def labels_swapped(walk):
    """Two labels of one column swapped."""
    cells = [(place, said) for place, said in walk.fixed_cells() if isinstance(said, str)]
    for (one, said), (other, told) in pairwise(cells):
        if said != told and one.column == other.column and not said.startswith("=") and not told.startswith("="):
            yield Case(
                f"{one} and {other}", lambda e, a=(one, told), b=(other, said): (e.put(*a), e.put(*b)),
                (at("text-changed", one), at("text-changed", other)),
            )  # fmt: skip


@a_class("cell-added")
def cells_added(walk):
    """Something written where nothing was: beside what is there, or under it."""
    for place in walk.blank_cells():
        yield Case(f"{place}", lambda e, p=place: e.put(p, "Less 10 % as agreed"), (at("cell-added", place),))


@a_class("cell-added")
def lines_added(walk):
    """A number or a formula added under the total."""
    balance = walk.places["balance"]
    for down in range(3, 20):
        place = balance._replace(row=balance.row + down)
        if place not in walk.places.values() and place not in dict(walk.fixed_cells()):
            yield Case(f"{place} number", lambda e, p=place: e.put(p, D(-100)), (at("cell-added", place),))
            yield Case(f"{place} formula", lambda e, p=place: e.formula(p, "total*0.9"), (at("cell-added", place),))


# Figures in the file


@a_class("arithmetic-differs")
def figures_changed(walk):
    """A figure in the file changed beside its formula."""
    for name, result in walk.content.results.items():
        place, other = walk.places[name], another(result or D(0))
        yield Case(name, lambda e, p=place, v=other: e.cache(p, v), (at("arithmetic-differs", place, name),))


@a_class("arithmetic-differs")
def shown_figures_changed(walk):
    """A figure in the file changed where it is shown a second time."""
    for place, said in walk.fixed_cells():
        if isinstance(said, str) and said.startswith("="):
            name = names_in(said)[0]
            yield Case(f"{place}", lambda e, p=place: e.cache(p, D(77)), (at("arithmetic-differs", place, name),))


@a_class("not-recalculated")
def figures_lost(walk):
    """A figure missing from the file, its formula there."""
    for name, result in walk.content.results.items():
        missing = at("not-recalculated", walk.places["total"], "total")
        expected = () if result == "" else (missing,)
        yield Case(name, lambda e, p=walk.places[name]: e.cache(p, None), expected, worked_out=True)


# Rows, columns and sheets


@a_class("no finding")
def lines_inserted(walk):
    """A row or a column inserted."""
    for sheet in walk.content.fixed:
        cells = [place for place, _ in walk.fixed_cells() if place.sheet == sheet]
        cells += [place for place in walk.places.values() if place.sheet == sheet]
        for row in range(1, max(place.row for place in cells) + 2):
            yield Case(f"{sheet} row {row}", lambda e, s=sheet, r=row: e.insert(s, row=r), ())
        for column in range(1, min(60, max(place.column for place in cells) + 2)):
            yield Case(f"{sheet} column {column}", lambda e, s=sheet, c=column: e.insert(s, column=c), ())


@a_class("row-deleted, text-changed")
def rows_deleted(walk):
    """A row deleted."""
    for sheet in walk.content.fixed:
        for row in sorted(
            {place.row for place in walk.places.values() if place.sheet == sheet}
            | {p.row for p, _ in walk.fixed_cells() if p.sheet == sheet}
        ):
            yield Case(
                f"{sheet} row {row}", lambda e, s=sheet, r=row: e.remove(s, row=r), tuple(_gone(walk, sheet, row))
            )


def _gone(walk: Walk, sheet: str, row: int) -> Iterator[Expected]:
    """One finding with all that was on a row; of a last row with one thing, and of a table's, what is gone."""
    names = [name for name, place in walk.single(sheet) if place.row == row]
    lists = [
        key
        for key in ("kinds_panel", "subfloors_subfloor_kind", "day_factors_hire_days")
        if walk.places[key].sheet == sheet
        and walk.places[key].row <= row < walk.places[key].row + len(walk.content.tables[key])
    ]
    texts = [place for place, _ in walk.fixed_cells() if place.sheet == sheet and place.row == row]
    last = max(place.row for place in walk.on(sheet))
    if row == last and len(names) + len(texts) == 1:
        yield from (at("name-missing", walk.places[name], name) for name in names)
    if row == last and not names:
        yield from (at("text-changed", place) for place in texts)
    elif lists and not names and not texts:
        yield from (at("rate-changed", walk.places[key]._replace(row=row), key) for key in lists)
    elif row != last or len(names) + len(texts) > 1:
        yield at("row-deleted", CellAddress(sheet, row, 1), next(iter(names + lists), ""))


@a_class("column-deleted, text-changed")
def columns_deleted(walk):
    """A column deleted from a sheet without tables."""
    for sheet in (sheet for sheet in walk.content.fixed if sheet != walk.places["kinds_panel"].sheet):
        named, texts = walk.single(sheet), [place for place, _ in walk.fixed_cells() if place.sheet == sheet]
        last = max(place.column for place in walk.on(sheet))
        for column in sorted({place.column for place in walk.on(sheet)}):
            gone = [name for name, place in named if place.column == column]
            expected = [at("column-deleted", CellAddress(sheet, 1, column), next(iter(gone), ""))]
            if column == last and len(gone) == 1:
                expected = [at("name-missing", walk.places[name], name) for name in gone]
            if column == last and not gone:
                expected = [at("text-changed", place) for place in texts if place.column == column]
            yield Case(f"{sheet} {column}", lambda e, s=sheet, c=column: e.remove(s, column=c), tuple(expected))


@a_class("sheet-renamed")
def sheets_renamed(walk):
    """A sheet renamed."""
    for sheet in walk.content.fixed:
        yield Case(
            sheet, lambda e, s=sheet: e.rename(s, "Ours & 'yours'"), (Expected("sheet-renamed", "", "Ours & 'yours'"),)
        )


@a_class("sheet-hidden")
def sheets_hidden(walk):
    """A sheet hidden, or very much so."""
    for sheet in walk.content.fixed:
        for state in ("hidden", "veryHidden"):
            yield Case(
                f"{sheet} {state}", lambda e, s=sheet, t=state: e.show(s, t), (Expected("sheet-hidden", "", sheet),)
            )


@a_class("sheet-missing")
def sheets_deleted(walk):
    """A sheet deleted."""
    for sheet in walk.content.fixed:
        yield Case(sheet, lambda e, s=sheet: e.delete(s), (Expected("sheet-missing", "", sheet),))


@a_class("sheet-added")
def sheets_copied(walk):
    """A sheet copied, or added."""
    for sheet in (None, *walk.content.fixed):
        yield Case(f"{sheet}", lambda e, s=sheet: e.add("Another", s), (Expected("sheet-added", "", "Another"),))


# What else a person sees


@a_class(
    "lines-hidden, comment-added, page-changed, picture-added, format-changed, text-unseen, rule-added, sheet-doubled"
)
def looks_changed(walk):
    """A row hidden, a comment, another footer, a picture, a format with words, white text, a rule, a sheet's double."""
    for kind, edit in ADDED.items():
        sheet, cell = PLACES[kind]
        rows = {name: walk.places[name].row for name in ("total", "tax")} | {"labour": walk.places["labour"].cell}
        yield Case(kind, edit, (Expected(kind, "", sheet, cell.format(**rows)),))


# The stamp


@a_class("stamp-broken")
def stamp_altered(walk):
    """The stamp altered, or exchanged for another quote's."""
    for row in (2, 3):
        for text in ("0" * 64, "", "x" * 200):
            yield Case(
                f"row {row}", lambda e, r=row, t=text: e.put(CellAddress("stamp", r, 1), t), (Expected("stamp-broken"),)
            )

    def exchange(edit):
        for row, text in enumerate(walk.others_stamp, 2):
            edit.put(CellAddress("stamp", row, 1), text)

    yield Case("another's", exchange, (Expected("stamp-broken"),))


@a_class("stamp-missing")
def stamp_removed(walk):
    """The stamp's sheet deleted, or its first cell cleared."""
    yield Case("the sheet", lambda e: e.delete("stamp"), (Expected("stamp-missing"),))
    yield Case("its mark", lambda e: e.put(CellAddress("stamp", 1, 1), None), (Expected("stamp-missing"),))


@a_class("stamp-shown")
def stamp_shown(walk):
    """The stamp's sheet brought into view, or renamed."""
    yield Case("hidden less well", lambda e: e.show("stamp", "hidden"), ())
    yield Case("visible", lambda e: e.show("stamp", "visible"), (Expected("stamp-shown", "", "stamp"),))
    yield Case("renamed", lambda e: e.rename("stamp", "Sheet6"), (Expected("stamp-shown", "", "Sheet6"),))


@a_class("unknown-content")
def beside_the_stamp(walk):
    """Something put on the stamp's sheet beside the stamp, or a formula over it."""
    for cell in (CellAddress("stamp", 2, 2), CellAddress("stamp", 9, 5)):
        yield Case(cell.cell, lambda e, c=cell: e.put(c, "x"), (Expected("unknown-content", "", "stamp", cell.cell),))
    mark = CellAddress("stamp", 2, 1)
    yield Case("a formula", lambda e: e.formula(mark, '"x"'), (Expected("unknown-content", "", "stamp", mark.cell),))


@a_class("unknown-content")
def unknown_content(walk):
    """An element or an attribute that no quote needs, put into the XML of a cell, a row, a sheet or the workbook."""
    for name in ("total", "hourly_rate", "client", "hire_1"):
        place = walk.places[name]
        expected = (Expected("unknown-content", "", place.sheet, place.cell),)
        for change in (
            lambda cell: cell.set("odd", "1"),
            lambda cell: cell.append(cell.makeelement("{urn:odd}v", {})),
            lambda cell: cell.append(cell.makeelement(f"{MAIN}x", {})),
            lambda cell: cell.set("vm", "1"),
        ):
            yield Case(name, lambda e, p=place, c=change: c(e.cell(p)), expected)
    for part in ("xl/workbook.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/worksheets/sheet1.xml"):
        sheet = "Quote" if "sheet1" in part else ""
        expected = (Expected("unknown-content", "", sheet),)
        yield Case(part, lambda e, p=part: e.root(p).set("odd", "1"), expected)
        yield Case(part, lambda e, p=part: e.root(p).append(e.root(p).makeelement("{urn:odd}x", {})), expected)


@a_class("foreign-part")
def foreign_parts(walk):
    """A macro, a link to another file or an embedded object put in."""
    for part in ("xl/vbaProject.bin", "xl/externalLinks/externalLink1.xml", "xl/embeddings/oleObject1.bin"):
        yield Case(part, lambda e, p=part: e.parts.update({p: b"?"}), (Expected("foreign-part"),))


# The day, and what else was issued


@a_class("expired")
def expired(walk):
    """A quote returned after its last day."""
    until = TODAY + timedelta(days=int(walk.card.firm.valid_days))
    place = walk.places["valid_until"]
    yield Case(
        "the day after",
        lambda e: None,
        (Expected("expired", "valid_until", place.sheet, place.cell),),
        today=until + timedelta(days=1),
    )
    yield Case("on the last day", lambda e: None, (), today=until)


@a_class("older-revision")
def superseded(walk):
    """A quote returned after a later revision was issued."""
    place = walk.places["revision"]
    yield Case("revision 1 of 2", lambda e: None, (at("older-revision", place, "revision"),), book=walk.superseded)


# The walk


@pytest.fixture(scope="module")
def walk(tmp_path_factory):
    return Walk(tmp_path_factory.mktemp("walk"))


def _spread(cases: list, most: int) -> list:
    """Some of a list, evenly from its first to its last."""
    if len(cases) <= most:
        return cases
    return [cases[round(at * (len(cases) - 1) / (most - 1))] for at in range(most)]


@pytest.mark.parametrize("title", CLASSES)
def test_each_edit_is_found_as_what_it_is(walk, title, request):
    _, cases = CLASSES[title]
    chosen = list(cases(walk))
    assert chosen
    if not request.config.getoption("--slow"):
        chosen = _spread(chosen, NORMAL)
    assert [trouble for trouble in map(walk.trouble, chosen) if trouble] == []


def test_untouched_is_clean(walk):
    assert walk.trouble(Case("nothing", lambda edit: None, ())) == ""


def edits_table(walk: Walk) -> str:
    """The classes of edits, how many there are of each, and what they are found as."""
    rows = [
        f"| {title} | {_at_least(sum(1 for _ in cases(walk)))} | {kinds} |" for title, (kinds, cases) in CLASSES.items()
    ]
    return "\n".join(["| edit | at least | found as |", "|---|---:|---|", *rows])


def _at_least(count: int) -> int:
    """Down to one digit, so that a cell more or less does not change the documents."""
    unit = 10 ** (len(str(count)) - 1)
    return count // unit * unit


def test_the_table_in_the_documents_has_not_drifted(walk):
    text = DEVELOPERS.read_text()
    table = text.partition("<!-- edits -->\n")[2].partition("\n<!-- /edits -->")[0]
    assert table == edits_table(walk), "put the table of edits_table() between the marks"
