"""The chart of what to buy: what each number of panels of a kind is worth, with the band of the redrawn seasons."""

from xlsxwriter.chart import Chart

from quotebook.buying.answer import Answer
from quotebook.drawing.charts import X_AXIS, add_chart, cells
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import QUIET

BANDS = {"value_band_1": "worst tenth", "value_band_2": "middle", "value_band_3": "best tenth"}
"""Columns of the net present value over the redrawn seasons."""

CHART_ALTERNATIVE = (
    "Lines: net present value against the panels owned, for the season as it was and for the worst tenth, the middle "
    "and the best tenth of the redrawn ones. The tables on the sheet of the kind have the same figures."
)
"""What the chart shows, for those who have it read out."""

SCALES = {"x_scale": 0.78, "y_scale": 0.9}
ROWS = 18
"""Rows of the usual height that the chart is laid over."""


def insert_chart(book: OwnerWorkbook, pen: SheetWriter, answer: Answer, number: int, place: tuple[int, int]) -> None:
    """Lay the chart of the kind of this number over a sheet, its corner at the row and column of `place`."""
    found = answer.kinds[number - 1]
    chart = _chart(book, found.kind.code, number, len(found.steps), bool(answer.redrawn))
    pen.sheet.insert_chart(*place, chart, SCALES | {"description": CHART_ALTERNATIVE})


def _chart(book: OwnerWorkbook, code: str, number: int, steps: int, again: bool) -> Chart:
    """Net present value against panels owned: as played, and the band of the redrawn seasons."""
    title = f"{code}: net present value against panels owned, {book.firm.currency}"
    chart = add_chart(book, {"type": "line"}, title, "#,##0", least=None)
    axis = cells(book, f"owned_{number}_step_0", f"owned_{number}_step_{steps - 1}")
    played = cells(book, f"value_{number}_step_0", f"value_{number}_step_{steps - 1}")
    line = {"color": book.styles.accent, "width": 2.5}
    chart.add_series({"name": "the season as it was", "categories": axis, "values": played, "line": line})
    for name, words in BANDS.items() if again else ():
        values = cells(book, f"{name}_{number}_step_0", f"{name}_{number}_step_{steps - 1}")
        line = {"color": QUIET, "width": 1.25, "dash_type": "solid" if words == "middle" else "dash"}
        chart.add_series({"name": words, "categories": axis, "values": values, "line": line})
    if again:
        chart.set_high_low_lines({"line": {"color": book.styles.accent, "width": 6, "transparency": 80}})
    chart.set_x_axis(X_AXIS | {"name": "panels owned", "text_axis": True})
    return chart
