"""Edits workbooks in LibreOffice, as a person would: run by the Python that LibreOffice speaks to (`uno`).

Each line of standard input is JSON, a list of jobs: the workbook, where to save it, and the steps, each the name of
a function below with its arguments. Rows and columns count from 1. Each line of standard output answers one: what
went wrong, or an empty text. All of it is one process of LibreOffice, under the profile given as the argument, which
ends with the standard input.
"""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException
from com.sun.star.lang import DisposedException
from com.sun.star.table import CellAddress

FILTERS = {
    ".xlsx": "Calc MS Excel 2007 XML",
    ".xlsm": "Calc MS Excel 2007 VBA XML",
    ".xls": "MS Excel 97",
    ".ods": "calc8",
    ".fods": "OpenDocument Spreadsheet Flat XML",
    ".pdf": "calc_pdf_Export",
}
DISPOSED = DisposedException
PIPE = f"pipe,name=quotebook{os.getpid()};urp"


def type_in(book, sheet, row, column, text):
    """What somebody types: a number, a formula, or else a text."""
    cell = book.Sheets.getByName(sheet).getCellByPosition(column - 1, row - 1)
    if isinstance(text, (int, float)):
        cell.setValue(text)
    elif text.startswith("="):
        cell.setFormula(text)
    else:
        cell.setString(text)


def insert_rows(book, sheet, row, count):
    book.Sheets.getByName(sheet).Rows.insertByIndex(row - 1, count)


def delete_rows(book, sheet, row, count):
    book.Sheets.getByName(sheet).Rows.removeByIndex(row - 1, count)


def insert_columns(book, sheet, column, count):
    book.Sheets.getByName(sheet).Columns.insertByIndex(column - 1, count)


def delete_columns(book, sheet, column, count):
    book.Sheets.getByName(sheet).Columns.removeByIndex(column - 1, count)


def rename_sheet(book, sheet, title):
    book.Sheets.getByName(sheet).setName(title)


def copy_sheet(book, sheet, title):
    book.Sheets.copyByName(sheet, title, len(book.Sheets))


def delete_sheet(book, sheet):
    book.Sheets.removeByName(sheet)


def hide_sheet(book, sheet):
    book.Sheets.getByName(sheet).IsVisible = False


def forget_name(book, name):
    book.NamedRanges.removeByName(name)


def point_name(book, name, target):
    book.NamedRanges.getByName(name).setContent(target)


def double_name(book, name, sheet, target):
    book.Sheets.getByName(sheet).NamedRanges.addNewByName(name, target, CellAddress(), 0)


def started(soffice, profile):
    """LibreOffice under a profile: its process, and its desktop."""
    arguments = ["--headless", "--norestore", f"--accept={PIPE};"]
    office = subprocess.Popen([soffice, f"-env:UserInstallation={Path(profile).as_uri()}", *arguments])
    return office, connected().ServiceManager.createInstance("com.sun.star.frame.Desktop")


def main():
    office, desktop = started(*sys.argv[1:])
    for line in sys.stdin:
        print(json.dumps(said_of(desktop, json.loads(line))), flush=True)
    try:
        desktop.terminate()
    finally:
        office.wait(20)


def said_of(desktop, jobs):
    """Does each job, also where another could not be done."""
    said = []
    for job in jobs:
        try:
            do(desktop, job["path"], Path(job["target"]), job["steps"])
        except DISPOSED:
            raise
        except Exception as failure:
            said.append(f"{job['path']}: {failure}")
    return "; ".join(said)


def do(desktop, path, target, steps):
    book = desktop.loadComponentFromURL(Path(path).as_uri(), "_blank", 0, properties(Hidden=True))
    try:
        if steps:
            for sheet in book.Sheets:
                sheet.unprotect("")
            for step, *arguments in steps:
                globals()[step](book, *arguments)
            book.calculateAll()
        target.parent.mkdir(parents=True, exist_ok=True)
        book.storeToURL(target.as_uri(), properties(FilterName=FILTERS[target.suffix]))
    finally:
        if book is not None:
            book.close(True)


def connected():
    resolver = uno.getComponentContext().ServiceManager.createInstance("com.sun.star.bridge.UnoUrlResolver")
    for _ in range(200):
        try:
            return resolver.resolve(f"uno:{PIPE};StarOffice.ComponentContext")
        except NoConnectException:
            time.sleep(0.1)
    raise SystemExit("LibreOffice does not answer")


def properties(**values):
    return tuple(PropertyValue(name, 0, value, 0) for name, value in values.items())


if __name__ == "__main__":
    main()
