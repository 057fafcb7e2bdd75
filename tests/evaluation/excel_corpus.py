"""Formulas with the results that Excel itself left beside them, worked out anew and held against those results.

    python tests/evaluation/excel_corpus.py FOLDER...

takes folders with workbooks in them, at any depth: checkouts of public projects whose tests keep workbooks that Excel
saved (apache/poi, jmcnamara/XlsxWriter and ClosedXML/ClosedXML have some hundred). Of each .xlsx and .xlsm whose
docProps/app.xml names Microsoft Excel, each formula is worked out from the values that the file carries for the cells
that it reads. It prints each difference, what was not worked out and why, and counts. Array formulas are left out,
since a reader of ours does not tell them from others, and so are workbooks that are not to be read.
"""

import sys
import zipfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from quotebook.errors import QuotebookError
from quotebook.evaluation.evaluation import FromCachedValues
from quotebook.evaluation.values import NotWorkedOut
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.reading import read_workbook


class Answer(NamedTuple):
    """One formula: what Excel said, and what it comes to here."""

    path: Path
    address: CellAddress
    formula: str
    excel: object
    ours: object


def main(folders: list[Path]) -> None:
    counts: Counter[str] = Counter()
    reasons: Counter[str] = Counter()
    files = set()
    for folder in folders:
        for answer in answers(folder):
            if isinstance(answer.ours, NotWorkedOut):
                counts["not worked out"] += 1
                reasons[answer.ours.text] += 1
                continue
            files.add(answer.path)
            equal = agrees(answer.excel, answer.ours)
            counts["equal" if equal else "different"] += 1
            if not equal:
                place = f"{answer.address.sheet}!{answer.address.cell}"
                print(f"{answer.path.relative_to(folder)} {place} ={answer.formula}: {answer.excel!r}, {answer.ours!r}")
    for reason, count in reasons.most_common():
        print(f"{count:7,} not worked out: {reason}")
    print(f"{len(files)} files: " + ", ".join(f"{count:,} {what}" for what, count in counts.items()))


def answers(folder: Path) -> Iterator[Answer]:
    """Every formula with a result in the workbooks of a folder that Excel saved."""
    for path in sorted(path for path in folder.rglob("*.xls[xm]") if _by_excel(path)):
        try:
            workbook = read_workbook(path)
        except QuotebookError:
            continue
        evaluation = FromCachedValues(workbook)
        arrays = _array_formulas(path)
        for sheet in workbook.sheets:
            for (row, column), cell in sheet.cells.items():
                address = CellAddress(sheet.name, row, column)
                if cell.formula is not None and cell.value is not None and address.cell not in arrays:
                    yield Answer(path, address, cell.formula, cell.value, evaluation.cell(address))


def _by_excel(path: Path) -> bool:
    try:
        with zipfile.ZipFile(path) as package:
            return b"Microsoft Excel" in package.read("docProps/app.xml")
    except (zipfile.BadZipFile, KeyError, RuntimeError, NotImplementedError, OSError):
        return False


def _array_formulas(path: Path) -> set[str]:
    """Cells of array formulas and data tables, on whichever sheet: a few more are left out than need be."""
    import re

    with zipfile.ZipFile(path) as package:
        parts = [package.read(name) for name in package.namelist() if "worksheets/" in name]
    tagged = rb'<c\b[^>]*?\br="([A-Z]+[0-9]+)"[^>]*?>\s*<f\b[^>]*?\bt="(?:array|dataTable)"'
    return {cell.decode() for part in parts for cell in re.findall(tagged, part)}


def agrees(excel: object, ours: object) -> bool:
    """Whether two results are one: numbers to 12 digits, since Excel's own last digits are not those of the machine."""
    if isinstance(excel, bool) or isinstance(ours, bool) or isinstance(excel, str) or isinstance(ours, str):
        return type(excel) is type(ours) and excel == ours
    if hasattr(excel, "text") or hasattr(ours, "text"):
        return excel == ours
    return abs(excel - ours) <= abs(excel) / 10**12 or abs(excel - ours) < 1e-12


if __name__ == "__main__":
    main([Path(folder) for folder in sys.argv[1:]])
