"""Reads an .xlsx as cells and names (ECMA-376 parts 1 and 2), in one pass over each part that matters.

The reader relies only on what the standard promises: it finds parts through relationships and tags by their
namespace (transitional or strict), and it counts positions where cells do not give them. It steps over only what the
tables in `xlsx_sheet_table` and `xlsx_book_tables` call harmless. All else is noted, since other programs may read it.
"""

from collections.abc import Callable, Iterable, Sequence
from hashlib import sha256
from typing import TypeVar

from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import LocalName, Sheet, Workbook, look_of
from quotebook.spreadsheets.grammar import Spelling
from quotebook.spreadsheets.package import AGAIN, ROUNDING, SAVE, Package
from quotebook.spreadsheets.remembered import Remembered
from quotebook.spreadsheets.xlsx_appearance import print_areas
from quotebook.spreadsheets.xlsx_book import DefinedName, ListedSheet
from quotebook.spreadsheets.xlsx_book_tables import STYLES
from quotebook.spreadsheets.xlsx_links import Link
from quotebook.spreadsheets.xlsx_parts import Parts
from quotebook.spreadsheets.xlsx_shared_texts import shared_texts
from quotebook.spreadsheets.xlsx_sheet import SheetReader
from quotebook.spreadsheets.xlsx_styles import OddStyles, numbered

STATES = {None: "visible", "visible": "visible", "hidden": "hidden", "veryHidden": "veryHidden"}
BUILT_IN = frozenset(
    f"_xlnm.{name}"
    for name in (
        "print_area", "print_titles", "_filterdatabase", "criteria", "extract", "database", "sheet_title",
        "consolidate_area",
    )
)  # fmt: skip
"""Names that programs define for themselves (ECMA-376 part 1, 18.2.5), without those that start a macro."""

Found = TypeVar("Found")
_NAMES: Remembered[tuple[dict[str, str], tuple[LocalName, ...], Spelling]] = Remembered()
_STYLES: Remembered[OddStyles] = Remembered()


def read(package: Package) -> Workbook:
    """The workbook in a package. Raises Unreadable where it is damaged or beyond the limits."""
    parts = Parts(package)
    book = parts.workbook
    date_1904 = parts.truth("date1904", book.date_1904)
    texts = shared_texts(parts)
    reader = SheetReader(parts, texts, _styles(parts), date_1904)
    package.bound("sheets", len(book.sheets))
    _hold_ids(parts, book.sheets)
    links = parts.links.of(parts.book)
    sheets = tuple(_sheet(parts, reader, listed, links) for listed in book.sheets)
    for number, area in print_areas(book).items():
        if sheet := numbered(sheets, number):
            sheet.appearance.printed = area
    titles = [sheet.name for sheet in sheets]
    if len({look_of(title) for title in titles}) < len(titles):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    made_of = parts.book_data, package.scale
    names, local_names, spelling = _NAMES.of(made_of, parts.unknowns, lambda: _names(parts, book.defined, titles))
    parts.unknowns.hold_spelling(spelling, sheets, parts.book)
    told = dict.fromkeys((*package.observations, *parts.links.told))
    if not parts.truth("fullPrecision", book.full_precision, otherwise=True):
        told[ROUNDING, "fullPrecision"] = None
    return Workbook(package.path, sheets, {**names}, local_names, tuple(told), date_1904, tuple(parts.unknowns))


def _styles(parts: Parts) -> OddStyles:
    """The formats that show something else than the cell. All but the theme are held against their table."""
    package, links = parts.package, parts.links
    member, theme_member = (links.only(parts.book, kind) for kind in ("styles", "theme"))
    data = package.utf8(member) if member else None
    theme = _unless_unreadable(lambda: package.utf8(theme_member)) if theme_member else None

    def styles() -> OddStyles:
        root = parts.held(member, data, "styleSheet", STYLES) if member and data is not None else None
        colours = _unless_unreadable(lambda: package.parsed(theme_member, theme)) if theme_member and theme else None
        return OddStyles(root, colours, b"".join(sha256(each or b"").digest() for each in (data, theme)))

    return _STYLES.of((data, theme, parts.namespace), parts.unknowns, styles)


def _unless_unreadable(read: Callable[[], Found]) -> Found | None:
    """What is read of a part that need not be there; None where no program can read it."""
    try:
        return read()
    except Unreadable:
        return None


def _hold_ids(parts: Parts, listed: Sequence[ListedSheet]) -> None:
    """Notes two sheets that are called by one id, and two that are one part."""
    links = parts.links.of(parts.book)
    members = [links[sheet.link].member for sheet in listed if sheet.link in links]
    for what, found in (("part", members), ("id", [sheet.number for sheet in listed])):
        if len(set(found)) < len(found):
            parts.unknowns.note(f"two sheets of one {what}", parts.book)


def _sheet(parts: Parts, reader: SheetReader, listed: ListedSheet, links: dict[str, Link]) -> Sheet:
    """The sheet that the workbook's part lists. A sheet of another kind than cells is empty."""
    name = parts.unescaped(listed.name)
    link = links.get(listed.link or "")
    if link is None:
        raise parts.package.unreadable(f"does not say where sheet {name[:60]!r} is; {AGAIN}")
    if listed.state not in STATES:
        parts.unknowns.note(f"the state {str(listed.state)[:20]!r} of a sheet", parts.book, name)
    visibility = STATES.get(listed.state, "visible")
    return Sheet(name, visibility, *reader.read(name, link.member) if link.kind == "worksheet" else ({},))


def _names(
    parts: Parts, defined: Sequence[DefinedName], titles: Iterable[str]
) -> tuple[dict[str, str], tuple[LocalName, ...], Spelling]:
    """The workbook-level names with their targets, all other names, and how all of them are spelled."""
    parts.package.bound("defined names", len(defined))
    names: dict[str, str] = {}
    local_names: list[LocalName] = []
    by_number = {str(number): title for number, title in enumerate(titles)}
    for written, scope, text, runs in defined:
        name = parts.unescapable(written, parts.book)
        key = name.lower()
        if key in BUILT_IN:
            continue
        if key.startswith("_xlnm.") or any(parts.truth(attribute, said) for attribute, said in runs):
            parts.unknowns.note(f"the name {name[:40]!r}, which runs something", parts.book)
        target = parts.unescapable(text, parts.book)
        if target.startswith("="):  # Gnumeric then makes nothing of the formulas that use it
            parts.unknowns.note(f"the name {name[:40]!r} for what begins with an equals sign", parts.book)
        if scope is not None:
            local_names.append(LocalName(by_number.get(scope, ""), name, target))
        elif key in names:
            local_names.append(LocalName("", name, target))
        else:
            names[key] = target
    parts.unknowns.hold_looks((*names, *(name.lower() for _, name, _ in local_names)), parts.book)
    return names, tuple(local_names), Spelling(name for name, *_ in defined)
