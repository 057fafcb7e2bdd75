"""Spreadsheet engines that recalculate a workbook, so that its formulas can be held against the engine.

The cached values are poisoned first: a recalculation that could hand back what we wrote proves nothing.
"""

import re
import warnings
import zipfile
from datetime import date, time
from io import BytesIO
from pathlib import Path

POISON = "-987654.5"


def poisoned(workbook: bytes) -> bytes:
    """The same workbook with a wrong number cached in every formula cell."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(workbook)) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            data = source.read(name)
            if name.startswith("xl/worksheets/"):
                data = _poison_cells(data.decode()).encode()
            target.writestr(name, data)
    return out.getvalue()


def _poison_cells(sheet: str) -> str:
    """Conditional formats go too: no value rests on them, and IronCalc takes seconds to work them all out."""
    sheet = re.sub(r"<conditionalFormatting.*</conditionalFormatting>", "", sheet)
    cells = re.sub(r'<c ([^>]*?)( t="\w+")?><f>(.*?)</f><v>.*?</v>', rf"<c \1><f>\3</f><v>{POISON}</v>", sheet)
    return re.sub(r'<c ([^>]*?)( t="\w+")?><f>([^<]*)</f><v></v>', rf"<c \1><f>\3</f><v>{POISON}</v>", cells)


def with_addresses(path: Path) -> Path:
    """A copy of a workbook whose formulas say addresses instead of names, and which defines no names.

    IronCalc looks every name up among all of them, as often as a formula says it: half a second a quote.
    """
    copy = path.with_suffix(".addresses.xlsx")
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(copy, "w", zipfile.ZIP_STORED) as target:
        book = source.read("xl/workbook.xml").decode()
        cells = dict(re.findall(r'<definedName name="(\w+)">([^<]+)</definedName>', book))
        for name in source.namelist():
            data = source.read(name)
            if name == "xl/workbook.xml":
                data = re.sub("<definedNames>.*</definedNames>", "", book).encode()
            elif name.startswith("xl/worksheets/"):
                data = re.sub("<f>([^<]*)</f>", lambda found: _addressed(found, cells), data.decode()).encode()
            target.writestr(name, data)
    return copy


def _addressed(found: re.Match, cells: dict[str, str]) -> str:
    """A formula's element with an address for each name; what stands in quotation marks is no name.

    INDEX is given one cell as a range of one: IronCalc takes it for the value in it (test_programs_differ.py).
    """
    between = re.split(r'("(?:[^"]|"")*"|&quot;(?:(?!&quot;).|&quot;&quot;)*&quot;)', found[1])
    plain = [re.sub(r"(?<![\w.])[A-Za-z]\w*", lambda word: cells.get(word[0], word[0]), text) for text in between[::2]]
    between[::2] = [re.sub(r"(?<=INDEX\()([^,()]+!)(\$[A-Z]+\$[0-9]+)(?=,)", r"\1\2:\2", text) for text in plain]
    return f"<f>{''.join(between)}</f>"


def recalculated_by_ironcalc(path: Path, places: dict[str, list]) -> dict[str, object]:
    """Each name's value after IronCalc has evaluated the workbook in this process.

    `places` gives sheet, row and column of each name, as the stamp does.
    """
    import ironcalc

    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.evaluate()
    sheets = {sheet["name"]: number for number, sheet in enumerate(model.get_worksheets_properties())}
    return {name: model.get_cell_value(sheets[sheet], row, column) for name, (sheet, row, column) in places.items()}


def values_in(path: Path, places: dict[str, list]) -> dict[str, object]:
    """Each name's cached value in a workbook that a spreadsheet program has saved."""
    import openpyxl

    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Workbook contains no default style")  # as Gnumeric saves it
        book = openpyxl.load_workbook(path, data_only=True, read_only=True)  # without styles and merged cells
    values = {
        (sheet.title, cell.row, cell.column): cell.value
        for sheet in book.worksheets
        for row in sheet.rows
        for cell in row
        if cell.value is not None
    }
    book.close()
    return {name: _serial(values.get(tuple(place))) for name, place in places.items()}


def _serial(value: object) -> object:
    """A day as the number that a cell holds; openpyxl reads one where the cell's format shows a date.

    It leaves the control characters of a text as the file has them, `_x0005_`.
    """
    from openpyxl.utils.datetime import to_excel
    from openpyxl.utils.escape import unescape

    if isinstance(value, str):
        return unescape(value)
    return to_excel(value) if isinstance(value, date | time) else value


def rewrite(path: Path, change) -> None:
    """Changes the XML of every sheet of a workbook in place."""
    out = BytesIO()
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            data = source.read(name)
            target.writestr(name, change(data.decode()).encode() if name.startswith("xl/worksheets/") else data)
    path.write_bytes(out.getvalue())
