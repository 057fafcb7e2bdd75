"""Writes the workbook's sheet of flows: what each step takes and leaves in each year of the panels' life."""

from decimal import Decimal

from xlsxwriter.utility import xl_range_abs

from quotebook.buying.answer import Answer
from quotebook.contract.formulas import money
from quotebook.drawing.charts import cells
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.money import ZERO
from quotebook.engine.money import money as rounded
from quotebook.engine.payback import LONGEST_LIFE

HEAD = 3


def write_flows(book: OwnerWorkbook, answer: Answer) -> None:
    """Write a row for each step of each kind, from the purchase in year 0 to the longest life."""
    hint = "Every year is taken to be like the season. Resale comes with the last year of the life."
    pen = book.sheet("Years", "Year by year", hint, (12, 8, *(10,) * (LONGEST_LIFE + 1)))
    pen.text(HEAD, 1, "Kind", "column")
    pen.text(HEAD, 2, "bought", "column_right")
    for year in range(LONGEST_LIFE + 1):
        pen.text(HEAD, 3 + year, str(year), "column_right")
    row = HEAD
    for number, found in enumerate(answer.kinds, 1):
        for place, step in enumerate(found.steps):
            row += 1
            here = f"{number}_step_{place}"
            pen.text(row, 1, found.kind.code, "row")
            pen.mirror(row, 2, f"bought_{here}", Decimal(step.bought), "row_figure", "count")
            pen.figure(f"flow_0_{here}", row, 3, f"-cost_{here}", -step.cost, "row_figure", "money")
            resale = rounded(step.cost * answer.question.assumed.resale_share, book.minor_units)
            for year in range(1, LONGEST_LIFE + 1):
                formula = (
                    f"IF({year}>life_{number},0,gain_{here}"
                    f"+IF({year}=life_{number},{money(f'cost_{here}*resale_share')},0))"
                )
                value = ZERO if year > found.kind.life_years else step.gain
                value += resale if year == found.kind.life_years else ZERO
                pen.figure(f"flow_{year}_{here}", row, 3 + year, formula, value, "row_figure", "money")
            for name, first in (("flows", 1), ("all_flows", 0)):
                sheet, *area = cells(book, f"flow_{first}_{here}", f"flow_{LONGEST_LIFE}_{here}")
                book.book.define_name(f"{name}_{here}", f"={sheet}!{xl_range_abs(*area)}")
    pen.sheet.freeze_panes(HEAD + 1, 3)
    book.page(pen, pages_tall=0, repeat_row=HEAD)
