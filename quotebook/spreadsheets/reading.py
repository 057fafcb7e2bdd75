"""Reads a workbook from a file in either of the two formats, .xlsx and .ods."""

from pathlib import Path

from quotebook.spreadsheets.cells import Workbook
from quotebook.spreadsheets.package import open_package


def read_workbook(path: str | Path, scale: int = 1) -> Workbook:
    """The workbook in a file. Raises Unreadable where it is not one, is damaged, or beyond `scale` times the limits."""
    package = open_package(path, scale)
    if package.kind == "ods":  # each reader is loaded only for its own format
        from quotebook.spreadsheets.ods import read
    else:
        from quotebook.spreadsheets.xlsx import read
    return read(package)


SHARED_TEXTS = "xl/sharedStrings.xml"
"""The part of a workbook written here that has the texts of its cells."""


def read_shared_texts(path: str | Path) -> list[str]:
    """The texts of the cells of a workbook that was written here, in the order of writing, without the cells.

    For what is signed among them, since nothing else is looked at. Empty for a file without that part. Raises
    Unreadable as `read_workbook` does, for the part that it opens.
    """
    package = open_package(path)
    if not package.has(SHARED_TEXTS):
        return []
    items = package.xml(SHARED_TEXTS).iterchildren("{*}si")
    return ["".join(map(str, item.itertext(f"{item.tag[:-2]}t"))) for item in items]
