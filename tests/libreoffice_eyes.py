"""Shows workbooks to LibreOffice, and says what it shows: run by the Python that LibreOffice speaks to (`uno`).

Standard input is JSON, a list of paths. Standard output is JSON, a line for each: what every sheet shows as loaded
and after everything was worked out again, as rows of numbers and texts; null where the file was not opened.
"""

import json
import sys

import libreoffice_hand as hand


def shown(book):
    """The values of each sheet, by its name, from its first cell to the last that is used."""
    sheets = {}
    for sheet in book.Sheets:
        cursor = sheet.createCursor()
        cursor.gotoEndOfUsedArea(False)
        last = cursor.RangeAddress
        area = sheet.getCellRangeByPosition(0, 0, last.EndColumn, last.EndRow)
        sheets[sheet.Name] = [] if last.EndRow > 5000 or last.EndColumn > 500 else area.getDataArray()
    return sheets


def looked_at(desktop, path):
    try:
        book = desktop.loadComponentFromURL(hand.Path(path).as_uri(), "_blank", 0, hand.properties(Hidden=True))
        if book is None or not hasattr(book, "Sheets"):
            return None
        loaded = shown(book)
        book.calculateAll()
        again = shown(book)
        book.close(True)
    except hand.DISPOSED:
        raise
    except Exception:
        return None
    return [loaded, again]


def main():
    office, desktop = hand.started(*sys.argv[1:])
    for path in json.load(sys.stdin):
        print(json.dumps(looked_at(desktop, path)), flush=True)
    try:
        desktop.terminate()
    finally:
        office.wait(20)


if __name__ == "__main__":
    main()
