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
