"""Checks of what a person sees besides the contents of cells: told, each in one line, and disputed by nobody."""

import re
from collections.abc import Iterable, Iterator
from itertools import product

from quotebook.checking.findings import Finding
from quotebook.checking.kinds import Kind
from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.stamped import papers_of
from quotebook.contract.wording import quoted
from quotebook.spreadsheets.appearance import (
    Area,
    CellLook,
    FormatRule,
    Place,
    SheetAppearance,
    hides_texts,
    holds,
    is_odd,
)
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, area_of

MOST_NAMED = 3
"""Cells, rows or columns that are named one by one."""
CODES = re.compile(r'&"[^"]*"|&K[0-9A-Fa-f]{6}|&[0-9]+|&[A-Za-z]|&&')
"""What stands for something else in a header or footer (ECMA-376 part 1, 18.3.1.46)."""
OF_PAGES = {"page", "of", "página", "de", "sur", "pagina", "seite", "von"}
"""Words that programs put before and between the numbers of pages."""
DIGITS = re.compile(r'("[^"]*"|\\.|\[[^\]]*\])|General|[#0?](?:[#0?.]|,(?=[#0?]))*', re.IGNORECASE)
"""A text in a number format, or what stands for a number; a comma behind that would leave out its thousands."""
LAST_SECTIONS = re.compile(r"(;#?)+$")
"""Gnumeric ends with `General` the formats that LibreOffice wrote into an .ods with an empty section for 0."""
LETTERHEAD = (2, 2)
"""The row and column where the picture of ours begins: the firm's logo, on the sheet with the price."""


def seen_as_issued(sheet: WorkedOut) -> Iterator[Finding]:
    """Nothing that is on the sheets is hidden, and nothing is seen there that we did not put there."""
    returned = sheet.returned
    for issued, now in returned.sheets_now.items():
        look = returned.sheets[now].appearance
        yield from _hidden_lines(sheet, issued, now, look)
        yield from _comments(now, look)
        yield from _page_texts(sheet, now, look)
        if issued in _sheets_of(sheet, "total", "caution_tax"):
            yield from _unprinted(sheet, issued, now, look)
        yield from _pictures(now, look, {LETTERHEAD} if issued in _sheets_of(sheet, "total") else set())
        yield from _formats(sheet, issued, now, look)
        yield from _rules(sheet, issued, now, look)


def _sheets_of(sheet: WorkedOut, *names: str) -> set[str]:
    """The sheets that some names were issued on."""
    return {sheet.content.places[name][0] for name in names if name in sheet.content.places}


def _listed(things: Iterable[str]) -> str:
    things = list(things)
    more = f" and {len(things) - MOST_NAMED} more" if len(things) > MOST_NAMED else ""
    return ", ".join(things[:MOST_NAMED]) + more


def _filled(sheet: WorkedOut, issued: str, now: str) -> set[tuple[int, int]]:
    """The cells of a sheet that matter: those that hold something, and those with a name."""
    areas = sheet.returned.areas_of_names(issued)
    return {*sheet.returned.sheets[now].cells, *((area.top, area.left) for area in areas)}


def _hidden_lines(sheet: WorkedOut, issued: str, now: str, look: SheetAppearance) -> Iterator[Finding]:
    filled = _filled(sheet, issued, now) if look.hidden_rows or look.hidden_columns else ()
    rows = sorted({row for row, _ in filled} & look.hidden_rows)
    columns = sorted({column for _, column in filled} & look.hidden_columns)
    lines = [f"row {row}" for row in rows]
    lines += [f"column {CellAddress(now, 1, column).cell[:-1]}" for column in columns]
    if lines:
        place = CellAddress(now, rows[0] if rows else 1, 1 if rows else columns[0])
        message = f"{now}: {_listed(lines)} hidden, with what is on it."
        yield Finding(Kind.LINES_HIDDEN, message, "", now, place.cell)


def _comments(now: str, look: SheetAppearance) -> Iterator[Finding]:
    if look.comments:
        cell, text = next(iter(look.comments.items()))
        more = f" and {len(look.comments) - 1} more" if len(look.comments) > 1 else ""
        yield Finding(Kind.COMMENT_ADDED, f"{now} {cell}: a comment was added, {quoted(text)}{more}.", "", now, cell)


def _page_texts(sheet: WorkedOut, now: str, look: SheetAppearance) -> Iterator[Finding]:
    """Headers and footers that say something else than the quote's number."""
    papers = papers_of(sheet.content)
    ours = f"{papers.quote_number} {int(papers.revision)} {sheet.labels.footer} {now}"
    known = {*_words(ours), *OF_PAGES}
    said = [word for text in look.page_texts for word in _words(CODES.sub(" ", text))]
    if foreign := [word for word in said if word not in known]:
        yield Finding(Kind.PAGE_CHANGED, f"{now}: the header or footer now says {quoted(' '.join(foreign))}.", "", now)


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.lower())


def _unprinted(sheet: WorkedOut, issued: str, now: str, look: SheetAppearance) -> Iterator[Finding]:
    """Cells of the price or the terms that are not printed; what somebody added elsewhere is told as that."""
    moved = sheet.returned.moved[issued]
    places = (moved.place(*place) for place in sheet.returned.unnamed_cells[issued])
    filled = [place for place in places if place]
    left_out = [place for place in filled if not any(holds(area, place) for area in look.printed or ())]
    if left_out and look.printed is not None:
        cells = _listed(CellAddress(now, *place).cell for place in sorted(left_out))
        yield Finding(Kind.PAGE_CHANGED, f"{now}: the print area leaves out {cells}.", "", now)


def _pictures(now: str, look: SheetAppearance, ours: set[tuple[int, int]]) -> Iterator[Finding]:
    added = [place for place in look.pictures if place not in ours]
    if len(look.pictures) > len(ours) or added:
        cell = CellAddress(now, *(added or look.pictures)[0]).cell
        yield Finding(Kind.PICTURE_ADDED, f"{now} {cell}: a picture or a shape was put over cells.", "", now, cell)


def _formats(sheet: WorkedOut, issued: str, now: str, look: SheetAppearance) -> Iterator[Finding]:
    """Formats of cells that hold something."""
    cells = sheet.returned.sheets[now].cells

    def first(places: Iterable[tuple[int, int]]) -> tuple[str, str]:
        """The first of some cells, and all of them in words."""
        named = [CellAddress(now, *place).cell for place in sorted(places)]
        return named[0], _listed(named)

    moved = sheet.returned.moved[issued]
    ours = {moved.place(row, column): _shown_by(code) for row, column, code in sheet.content.formats.get(issued, ())}
    odd = {place: code for place, code in look.formats.items() if not _shows_the_same(code, ours.get(place))}
    if formats := {place: code for place, code in odd.items() if place in cells and _shows_another(cells[place], code)}:
        cell, listed = first(formats)
        code = quoted(formats[min(formats)])
        message = f"{now} {listed}: the number format {code} shows another text than the number, or hides it."
        yield Finding(Kind.FORMAT_CHANGED, message, "", now, cell)
    covered = _under_others(look, {place for place, cell in cells.items() if cell.content not in (None, "")})
    if covered:  # what somebody has added under others is told as added
        issued_places = {moved.place(*place) for place in sheet.returned.unnamed_cells[issued]}
        covered &= issued_places | {(area.top, area.left) for area in sheet.returned.areas_of_names(issued)}
    if unseen := (look.unseen & cells.keys()) | covered:
        cell, listed = first(unseen)
        message = (
            f"{now} {listed}: not shown as it is: too pale, too small, struck out, repeated or under another cell."
        )
        yield Finding(Kind.TEXT_UNSEEN, message, "", now, cell)


def _rules(sheet: WorkedOut, issued: str, now: str, look: SheetAppearance) -> Iterator[Finding]:
    """Conditional formats for cells that had none, and those that hide what is in a cell or show something else."""
    ours = _ruled(sheet, issued)
    filled = _filled(sheet, issued, now) if look.rules else set()
    told = {
        place
        for rule in look.rules
        for area in rule.areas
        for place in _within(area, filled)
        if _is_told(rule, place, look, ours)
    }
    if told:
        cells = [CellAddress(now, *place).cell for place in sorted(told)]
        message = f"{now} {_listed(cells)}: a conditional format was added, which may hide or change what is seen."
        yield Finding(Kind.RULE_ADDED, message, "", now, cells[0])


def _ruled(sheet: WorkedOut, issued: str) -> list[tuple[CellRange, bool]] | None:
    """Where the cells with conditional formats of ours are now, and whether one strikes out what is there; None where
    the quote's version did not say so."""
    if sheet.content.ruled is None:
        return None
    moved = sheet.returned.moved[issued]
    areas = ((cells, strikes) for cells, strikes in sheet.content.ruled.get(issued, {}).items())
    found = ((area_of(each), strikes) for cells, strikes in areas for each in cells.split())
    now = ((moved.area(CellRange(issued, *area)), strikes) for area, strikes in found if area)
    return [(area, bool(strikes)) for area, strikes in now if area]


def _is_told(rule: FormatRule, place: Place, look: SheetAppearance, ours: list[tuple[CellRange, bool]] | None) -> bool:
    """Whether a rule for a cell is told: one that hides what is there, or strikes it out where ours does not."""
    if rule.hides_in(look.looks.get(place, CellLook())):
        return True
    if ours is None:
        return rule.strikes
    there = [strikes for area, strikes in ours if holds(area[1:], place)]
    return not there or (rule.strikes and not any(there))


def _under_others(look: SheetAppearance, cells: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """Cells that are merged with one before them, which covers them."""
    found: set[tuple[int, int]] = set()
    for area in look.covered:
        found |= _within(area, cells) - {area[:2]}
    return found


def _within(area: Area, cells: set[Place]) -> set[Place]:
    """Those of some cells that are in a rectangle."""
    top, left, bottom, right = area
    if (bottom - top + 1) * (right - left + 1) <= len(cells):
        return {place for place in product(range(top, bottom + 1), range(left, right + 1)) if place in cells}
    return {(row, column) for row, column in cells if top <= row <= bottom and left <= column <= right}


def _shows_another(cell: Cell, code: str) -> bool:
    """Whether an odd number format shows something else than what is in the cell; many are odd for numbers alone."""
    return is_odd(code) if not isinstance(cell.value, str) else bool(cell.value) and hides_texts(code)


def _shows_the_same(code: str, ours: str | None) -> bool:
    """Whether a number format shows what the issued one shows: Gnumeric puts the number into one that has words alone
    where LibreOffice has written it into an .ods."""
    shown = _shown_by(code)
    return ours in (shown, shown.replace("#", ""))


def _shown_by(code: str) -> str:
    """What a number format shows, however a program spells it: without quotes, escapes, its language, and last
    sections that are empty or show the number as it is; `#` for any number of digits."""
    digits = DIGITS.sub(lambda match: match[1] or "#", code)
    return LAST_SECTIONS.sub("", re.sub(r"\[\$-[^\]]*\]|[\"\\\\ ]", "", digits).lower())
