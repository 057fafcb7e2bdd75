"""The figures of a quote that another version issued: what its signed formulas make of the entries that came back.

Names, rates, formulas and their places are all from the stamp, so that nothing which has changed since, in the
arithmetic, in its words or in the layout of a workbook, changes what such a quote should come to.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue, Dictionary
from quotebook.engine.figures import Figures, figures_of_names
from quotebook.evaluation.evaluation import Changes, Evaluation
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Workbook

NO_CELLS = Workbook(Path(), (), {}, (), (), date_1904=False)


def figures_as_signed(
    content: Content, areas: Mapping[str, CellRange], entries: Mapping[str, CellValue], dictionary: Dictionary
) -> Figures:
    """Every figure that the signed formulas come to; one that the quote did not have is 0, or empty for a word.

    `areas` are where each name was issued, `entries` the values of the client's cells by name (missing: blank),
    `dictionary` the quote's own words.
    """
    cells = dict(_cells(content, areas, entries))
    names = {name.lower(): area for name, area in areas.items()}
    evaluation = Evaluation(NO_CELLS, Changes(cells, names))
    found = {name: evaluation.cell(_first(areas[name])) for name in content.results}
    values = {name: value for name, value in found.items() if isinstance(value, (Decimal, str))}
    layings = {name: dictionary.meaning(values[name], dictionary.layings) for name in values if name[:7] == "laying_"}
    return figures_of_names(values | layings)


def _cells(
    content: Content, areas: Mapping[str, CellRange], entries: Mapping[str, CellValue]
) -> Iterator[tuple[CellAddress, Cell]]:
    """The cells of the workbook as it was issued, but for the entries; cells without a name are read by no formula."""
    single = {**content.owner, **{name: entries.get(name) for name in content.inputs}}
    for name, value in single.items():
        yield _first(areas[name]), Cell(value, None)
    for name, rows in content.tables.items():
        for down, row in enumerate(rows):
            for across, value in enumerate(row if isinstance(row, list) else [row]):
                sheet, top, left, *_ = areas[name]
                yield CellAddress(sheet, top + down, left + across), Cell(value, None)
    for name, formula in content.formulas.items():
        yield _first(areas[name]), Cell(None, formula)


def _first(area: CellRange) -> CellAddress:
    return CellAddress(area.sheet, area.top, area.left)
