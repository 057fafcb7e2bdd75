"""Reads an .xlsx as cells and names (ECMA-376 parts 1 and 2), in one pass over each part that matters.

The reader relies only on what the standard promises: it finds parts through relationships and tags by their
namespace (transitional or strict), and it counts positions where cells do not give them. It steps over only what the
tables in `xlsx_sheet_table` and `xlsx_book_tables` call harmless. All else is noted, since other programs may read it.
"""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from quotebook.errors import Unreadable
from quotebook.spreadsheets.cells import LocalName, Sheet, Workbook, look_of
from quotebook.spreadsheets.package import AGAIN, ROUNDING, SAVE, Package
from quotebook.spreadsheets.xlsx_appearance import print_areas
from quotebook.spreadsheets.xlsx_book_tables import STRINGS, STYLES
from quotebook.spreadsheets.xlsx_links import Link
from quotebook.spreadsheets.xlsx_parts import Parts
from quotebook.spreadsheets.xlsx_sheet import SheetReader
from quotebook.spreadsheets.xlsx_styles import OddStyles

if TYPE_CHECKING:
    from lxml.etree import _Element

STATES = {None: "visible", "visible": "visible", "hidden": "hidden", "veryHidden": "veryHidden"}
BUILT_IN = frozenset(
    f"_xlnm.{name}"
    for name in (
        "print_area", "print_titles", "_filterdatabase", "criteria", "extract", "database", "sheet_title",
        "consolidate_area",
    )
)  # fmt: skip
"""Names that programs define for themselves (ECMA-376 part 1, 18.2.5), without those that start a macro."""
RUNS = frozenset(("function", "vbProcedure", "xlm"))
"""Attributes of a name that stands for a function or a macro."""


def read(package: Package) -> Workbook:
    """The workbook in a package. Raises Unreadable where it is damaged or beyond the limits."""
    parts = Parts(package)
    main, book = parts.main, parts.workbook
    date_1904 = parts.truth(book.find(f"{main}workbookPr"), "date1904")
    texts = _shared_texts(parts)
    reader = SheetReader(parts, {number: text for number, (text, _) in texts.items()}, _styles(parts), date_1904)
    reader.runs = {number: item for number, (_, item) in texts.items() if len(item) and item[0].tag != f"{main}t"}
    listed = book.findall(f"{main}sheets/{main}sheet")
    package.bound("sheets", len(listed))
    _hold_ids(parts, listed)
    links = parts.links.of(parts.book)
    sheets = tuple(_sheet(parts, reader, element, links) for element in listed)
    for number, area in print_areas(parts).items():
        if number.isdecimal() and int(number) < len(sheets):
            sheets[int(number)].appearance.printed = area
    titles = [sheet.name for sheet in sheets]
    if len({look_of(title) for title in titles}) < len(titles):
        raise package.unreadable(f"has two sheets of one name; {SAVE}")
    defined = book.findall(f"{main}definedNames/{main}definedName")
    names, local_names = _names(parts, defined, titles)
    parts.unknowns.hold_spelling((name.get("name", "") for name in defined), sheets, parts.book)
    told = dict.fromkeys((*package.observations, *parts.links.told))
    if not parts.truth(book.find(f"{main}calcPr"), "fullPrecision", otherwise=True):
        told[ROUNDING, "fullPrecision"] = None
    return Workbook(package.path, sheets, names, local_names, tuple(told), date_1904, tuple(parts.unknowns))


def _shared_texts(parts: Parts) -> "dict[str, tuple[str, _Element]]":
    """The texts that cells share, by the number that a cell gives, each with its element."""
    member = parts.links.only(parts.book, "sharedStrings")
    if member is None:
        return {}
    items = parts.root(member, "sst", STRINGS).iterchildren(f"{parts.main}si")
    return {str(index): (parts.text(item, member), item) for index, item in enumerate(items)}


def _styles(parts: Parts) -> OddStyles:
    """The formats that show something else than the cell. All but the theme are held against their table."""
    member = parts.links.only(parts.book, "styles")
    return OddStyles(parts.root(member, "styleSheet", STYLES) if member else None, _theme(parts))


def _theme(parts: Parts) -> "_Element | None":
    """The theme, whose colours have numbers; None where there is none that a program can read."""
    member = parts.links.only(parts.book, "theme")
    try:
        return parts.package.xml(member) if member else None
    except Unreadable:
        return None


def _hold_ids(parts: Parts, listed: "Sequence[_Element]") -> None:
    """Notes two sheets that are called by one id, and two that are one part."""
    links = parts.links.of(parts.book)
    ids = [element.get(parts.link_attribute) for element in listed]
    members = [links[id_].member for id_ in ids if id_ in links]
    for what, found in (("part", members), ("id", [element.get("sheetId") for element in listed])):
        if len(set(found)) < len(found):
            parts.unknowns.note(f"two sheets of one {what}", parts.book)


def _sheet(parts: Parts, reader: SheetReader, element: "_Element", links: dict[str, Link]) -> Sheet:
    """The sheet that an element of the workbook part lists. A sheet of another kind than cells is empty."""
    name = parts.unescaped(element.get("name", ""))
    link = links.get(element.get(parts.link_attribute, ""))
    if link is None:
        raise parts.package.unreadable(f"does not say where sheet {name[:60]!r} is; {AGAIN}")
    state = element.get("state")
    if state not in STATES:
        parts.unknowns.note(f"the state {str(state)[:20]!r} of a sheet", parts.book, name)
    visibility = STATES.get(state, "visible")
    return Sheet(name, visibility, *reader.read(name, link.member) if link.kind == "worksheet" else ({},))


def _names(
    parts: Parts, elements: "Sequence[_Element]", titles: Iterable[str]
) -> tuple[dict[str, str], tuple[LocalName, ...]]:
    """The workbook-level names with their targets, and all other names."""
    parts.package.bound("defined names", len(elements))
    names: dict[str, str] = {}
    local_names: list[LocalName] = []
    by_number = {str(number): title for number, title in enumerate(titles)}
    for element in elements:
        name, scope = parts.unescapable(element.get("name", ""), parts.book), element.get("localSheetId")
        key = name.lower()
        if key in BUILT_IN:
            continue
        said = RUNS.intersection(element.keys())
        runs = (element.get(attribute) and parts.truth(element, attribute) for attribute in sorted(said))
        if key.startswith("_xlnm.") or any(runs):
            parts.unknowns.note(f"the name {name[:40]!r}, which runs something", parts.book)
        target = parts.unescapable(element.text or "", parts.book)
        if target.startswith("="):  # Gnumeric then makes nothing of the formulas that use it
            parts.unknowns.note(f"the name {name[:40]!r} for what begins with an equals sign", parts.book)
        if scope is not None:
            local_names.append(LocalName(by_number.get(scope, ""), name, target))
        elif key in names:
            local_names.append(LocalName("", name, target))
        else:
            names[key] = target
    parts.unknowns.hold_looks((*names, *(name.lower() for _, name, _ in local_names)), parts.book)
    return names, tuple(local_names)
