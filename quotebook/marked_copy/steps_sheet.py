"""The last sheet of a marked copy: how the figures came about, step by step, with a link to each cell."""

from dataclasses import dataclass

from lxml import etree

from quotebook.marked_copy.cell_formats import CellFormats
from quotebook.marked_copy.rows_sheet import RowsSheet, shortened

WIDTHS = (22, 44, 22, 60, 22)
"""Widths in characters of the columns: where, what, value, in numbers, as issued."""


@dataclass(frozen=True)
class StepRow:
    """One figure, entry or rate."""

    sheet: str
    cell: str
    texts: tuple[str, str, str, str]
    """What it is, its value, the value in numbers, its value as issued."""
    colour: str
    """The fill of what it is, `FFRRGGBB`; nothing where it is as issued."""


@dataclass(frozen=True)
class StepsPage:
    """The contents of the sheet, from top to bottom; without a step there is no such sheet."""

    title: str = ""
    sentences: tuple[str, ...] = ()
    headings: tuple[str, ...] = ()
    steps: tuple[StepRow, ...] = ()


class StepsSheet(RowsSheet):
    """The sheet of steps."""

    def __init__(self, main: str, formats: CellFormats) -> None:
        super().__init__(main, formats, WIDTHS)

    def steps(self, page: StepsPage) -> etree._Element:
        """The root element of the worksheet."""
        self.across(page.title, "title")
        for sentence in page.sentences:
            self.across(sentence)
        self.row()
        self.row(*((column, heading, "heading") for column, heading in enumerate(page.headings, 1)))
        for step in page.steps:
            texts = {column: shortened(text) for column, text in enumerate(step.texts, 2)}
            where = f"{step.sheet}!{step.cell}"
            row = self.row((1, where, "link"), *((column, text, "text") for column, text in texts.items()))
            self.fit(row, texts)
            self.link(1, step.sheet, step.cell, where)
            if step.colour:
                self.fill(row[1], step.colour)
        return self.worksheet()
