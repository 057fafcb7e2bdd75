"""People at their spreadsheet programs: workbooks opened, edited, worked out and saved.

Conditional formats are taken out before IronCalc loads a file: no value rests on them, and it takes
seconds to work them all out.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import oracle

COLOURS = re.compile(r"<conditionalFormatting.*</conditionalFormatting>", re.DOTALL)


class IronCalc:
    """One workbook open in IronCalc; cells are called by their defined names."""

    def __init__(self, path: Path, places: dict[str, list]):
        import ironcalc

        plain = path.with_name(f"{path.stem}.plain.xlsx")
        plain.write_bytes(path.read_bytes())
        oracle.rewrite(plain, lambda xml: COLOURS.sub("", xml))
        self.model, self.places = ironcalc.load_from_xlsx(str(plain), "en", "UTC", "en"), places
        plain.unlink()
        self.before: dict[tuple[int, int, int], tuple[str, object]] = {}
        """What stood in the cells that somebody has typed over, as it would be typed, and the style of each."""

    def sheet(self, title: str) -> int:
        return [sheet["name"] for sheet in self.model.get_worksheets_properties()].index(title)

    def type(self, name: str, value: Decimal | str | None, down: int = 0) -> None:
        """What somebody types into a cell, or into one below it."""
        sheet, row, column = self.places[name]
        text = "" if value is None else f"{value:f}" if isinstance(value, Decimal) else value
        cell = self.sheet(sheet), row + down, column
        self.before.setdefault(cell, (self.model.get_cell_content(*cell), self.model.get_cell_style(*cell)))
        self.model.set_user_input(*cell, text)

    def put_back(self) -> bool:
        """Types what was there into all that was typed over: opening a workbook takes ten times as long as that.

        Whether the workbook is as it was: a formula would be spelled otherwise when typed.
        """
        if any(text.startswith("=") for text, _ in self.before.values()):
            return False
        for cell, (text, style) in self.before.items():
            self.model.set_cell_style(*cell, style)
            self.model.set_user_input(*cell, text)
            self.model.set_cell_style(*cell, style)
        self.before.clear()
        return True

    def save(self, target: Path) -> Path:
        self.model.evaluate()
        target.unlink(missing_ok=True)
        self.model.save_to_xlsx(str(target))
        return target


def by_ironcalc(path: Path, target: Path, places: dict[str, list], edit: Callable[[IronCalc], object]) -> Path:
    """A copy of a workbook as IronCalc saves it after an edit."""
    hand = IronCalc(path, places)
    edit(hand)
    return hand.save(target)


def by_openpyxl(path: Path, target: Path, places: dict[str, list] | None = None, typed: dict | None = None) -> Path:
    """A copy of a workbook as openpyxl saves it, with some named cells typed over. It works nothing out."""
    import openpyxl

    book = openpyxl.load_workbook(path)
    for name, value in (typed or {}).items():
        sheet, row, column = places[name]
        book[sheet].cell(row, column).value = float(value) if isinstance(value, Decimal) else value
    book.save(target)
    return target


def steps(places: dict[str, list], typed: dict) -> list[list]:
    """What is typed over named cells, as steps."""
    return [["type_in", *places[name], float(v) if isinstance(v, Decimal) else v] for name, v in typed.items()]
