"""What the workbook's own part of an .xlsx says, as it is written there (ECMA-376 part 1, 18.2)."""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from lxml.etree import _Element

PRINT_AREA = "_xlnm.print_area"
RUNS = ("function", "vbProcedure", "xlm")
"""Attributes of a name that stands for a function or a macro."""


class ListedSheet(NamedTuple):
    """A sheet that the part lists, by its attributes."""

    name: str
    number: str | None
    """What the part calls it by (`sheetId`)."""
    link: str | None
    state: str | None


class DefinedName(NamedTuple):
    """A name that the part defines."""

    name: str
    scope: str | None
    """The place among the sheets, from 0, of the one that it belongs to; None for a name of the whole workbook."""
    target: str
    runs: tuple[tuple[str, str], ...]
    """Those of RUNS that it has, with what they say."""


class Book(NamedTuple):
    """The workbook's own part."""

    namespace: str
    sheets: tuple[ListedSheet, ...]
    defined: tuple[DefinedName, ...]
    printed: tuple[tuple[str, str], ...]
    """The print areas, by the places of their sheets."""
    date_1904: str | None
    full_precision: str | None


def book_in(root: "_Element", namespace: str, link_attribute: str) -> Book:
    """What stands in the root of the part; `link_attribute` is that by which an element names a link."""
    main = f"{{{namespace}}}"

    def said(tag: str, attribute: str) -> str | None:
        """What an attribute of the first element of that name says."""
        element = root.find(f"{main}{tag}")
        return None if element is None else element.get(attribute)

    defined = tuple(_defined(each) for each in root.iterfind(f"{main}definedNames/{main}definedName"))
    return Book(
        namespace,
        tuple(
            ListedSheet(each.get("name", ""), each.get("sheetId"), each.get(link_attribute), each.get("state"))
            for each in root.iterfind(f"{main}sheets/{main}sheet")
        ),
        defined,
        tuple((each.scope or "", each.target) for each in defined if each.name.lower() == PRINT_AREA),
        said("workbookPr", "date1904"),
        said("calcPr", "fullPrecision"),
    )


def _defined(element: "_Element") -> DefinedName:
    runs = tuple((attribute, text) for attribute in RUNS if (text := element.get(attribute)))
    return DefinedName(element.get("name", ""), element.get("localSheetId"), element.text or "", runs)
