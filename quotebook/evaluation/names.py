"""What the defined names of a workbook lead to, and its sheets by their names: case counts in neither."""

from collections.abc import Mapping

from quotebook.evaluation.trees import NotAFormula, Tree, tree_of
from quotebook.evaluation.values import NO_NAME, NO_REFERENCE, NotWorkedOut
from quotebook.spreadsheets.cells import RELATIVE, CellAddress, CellRange, Fault, Workbook, target_cell, target_range


class Names:
    """The names of one workbook. Those in `changed`, in lower case, lead where it says on every sheet."""

    def __init__(self, workbook: Workbook, changed: Mapping[str, CellRange]):
        self._of_workbook, self._changed = workbook.names, changed
        self._titles = {sheet.name.lower(): sheet.name for sheet in workbook.sheets}
        self._local = {(name.sheet, name.name.lower()): name.target for name in workbook.local_names if name.sheet}
        names = [name.name.lower() for name in workbook.local_names]
        self._of_sheets = frozenset(names)
        self._alone = {name: target for (_, name), target in self._local.items() if names.count(name) == 1}

    def sheet_called(self, name: str) -> str | None:
        """A sheet by its name, whatever its case."""
        return self._titles.get(name.lower())

    def cell(self, name: str) -> CellAddress | None:
        """The one cell that a name in lower case stands for on every sheet; None where it is no such name."""
        if name in self._changed:
            return self._changed[name].only_cell()
        target = None if name in self._of_sheets else self._of_workbook.get(name)
        return target_cell(target, self._titles) if target else None

    def target(self, name: str, sheet: str) -> CellRange | Fault | Tree:
        """Where a name in lower case leads in the formulas of a sheet: to cells, to an error, or to a formula.

        A sheet's own name comes before the workbook's; a name of one sheet alone is known everywhere, since some
        programs write every name so.
        """
        if name in self._changed:
            return self._changed[name]
        target = self._local.get((sheet, name)) or self._of_workbook.get(name) or self._alone.get(name)
        if target is None:
            return NO_NAME
        found = target_range(target, self._titles)
        if found is not None:
            return found
        if "#REF!" in target.upper():
            return NO_REFERENCE
        if RELATIVE.search(target):
            return NotWorkedOut(f"the name {name[:40]}, which is no cell of its own")
        try:
            return tree_of(target.removeprefix("="))
        except NotAFormula as error:
            return error.reason
