"""Spreadsheet engines that recalculate a workbook, so that its formulas can be held against the engine.

The cached values are poisoned first: a recalculation that could hand back what we wrote proves nothing.
"""

import re
import warnings
import zipfile
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
        book = openpyxl.load_workbook(path, data_only=True)
    return {name: book[sheet].cell(row, column).value for name, (sheet, row, column) in places.items()}


def rewrite(path: Path, change) -> None:
    """Changes the XML of every sheet of a workbook in place."""
    out = BytesIO()
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            data = source.read(name)
            target.writestr(name, change(data.decode()).encode() if name.startswith("xl/worksheets/") else data)
    path.write_bytes(out.getvalue())
