"""Draws the charts of the revenue workbook, on a sheet of their own."""

from xlsxwriter.chart import Chart

from quotebook.books.revenue_figures import RevenueTables
from quotebook.drawing.charts import X_AXIS, add_chart, cells, line_of, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.drawing.styles import RULE

MOST_LABELS = 12
"""Months that are named below a chart: of more, every second one and so on."""
EDGE = {"color": "#FFFFFF", "width": 0.75}
"""Between the parts of a column."""


def open_charts(book: OwnerWorkbook) -> SheetWriter:
    """The sheet of the charts, which comes first in the workbook and is filled last."""
    return book.sheet("Charts", "Charts", "Drawn from the sheets By month and How busy.", (13,) * 9)


def write_charts(book: OwnerWorkbook, tables: RevenueTables, pen: SheetWriter) -> None:
    """Write the answer in a sentence, and three charts: what each kind earned by month, how busy it was, two years."""
    _write_answer(pen, tables)
    charts = [
        _by_month(book, tables, "column", "goods", f"Goods by month, {tables.books.currency}", "#,##0"),
        _by_month(book, tables, "line", "busy", "Panel-days hired, of those owned", "0%"),
        _years(book, tables),
    ]
    for place, chart in enumerate(charts):
        pen.sheet.insert_chart(4 + 20 * place, 1, chart, {"description": f"{ALTERNATIVES[place]} {AS_TABLE}"})
    book.page(pen, landscape=False)


ALTERNATIVES = (
    "Stacked columns: what each kind of panel earned in each month.",
    "Lines: the share of the panels owned that was hired out in each month, for each kind.",
    "Columns side by side: this year so far and last year to the same month, for each kind and charge.",
)
"""What each chart shows, for those who have it read out."""
AS_TABLE = "The sheets By month and How busy have the same figures as tables."


def _write_answer(pen: SheetWriter, tables: RevenueTables) -> None:
    """Write the sum of the months, and the kind that earned most of it."""
    pen.text(2, 1, f"Agreed quotes of these months, {tables.books.currency}:", "strong_shrunk", to=4)
    pen.mirror(2, 5, "total_period", tables.figures["total_period"], "strong_right", "money", to=6)
    goods = {number: f"goods_{number}_period" for number, _ in enumerate(tables.kinds, 1)}
    most = f"MAX({','.join(goods.values())})"
    formula, said = '""', ""
    for number, name in reversed(goods.items()):
        formula = f"IF({name}={most},kind_{number},{formula})"
    if tables.kinds:
        amounts = [tables.figures[name] for name in goods.values()]
        said = f"most of it by {tables.kinds[amounts.index(max(amounts))]}" if max(amounts) > 0 else ""
        formula = f'IF({most}>0,"most of it by "&{formula},"")'
    pen.mirror(2, 7, formula, said, "strong_shrunk", to=9)


def _by_month(book: OwnerWorkbook, tables: RevenueTables, form: str, figure: str, title: str, numbers: str) -> Chart:
    """A chart of one figure of each kind over the months."""
    chart = add_chart(book, {"type": form} | ({"subtype": "stacked"} if form == "column" else {}), title, numbers)
    first, last = tables.months[0].name, tables.months[-1].name
    for number, colour in enumerate(shades(book.styles.accent, len(tables.kinds)), 1):
        chart.add_series(
            {
                "name": cells(book, f"kind_{number}"),
                "categories": cells(book, f"start_{first}", f"start_{last}"),
                "values": cells(book, f"{figure}_{number}_{first}", f"{figure}_{number}_{last}"),
                "gap": 60,
                **(line_of(number, colour) if form == "line" else {"fill": {"color": colour}, "border": EDGE}),
            }
        )
    every = {"interval_unit": -(-len(tables.months) // MOST_LABELS)}
    chart.set_x_axis(X_AXIS | {"num_format": "mmm yy", "text_axis": True} | every)
    return chart


def _years(book: OwnerWorkbook, tables: RevenueTables) -> Chart:
    """A chart of every column of the tables: this year so far beside last year to the same month."""
    chart = add_chart(book, {"type": "column"}, f"Year to date against last year, {tables.books.currency}", "#,##0")
    headings = cells(book, "kind_1")[1]
    for row, label, colour in (
        ("last_year", "Last year, to then", RULE),
        ("this_year", "This year", book.styles.accent),
    ):
        first, last = f"{tables.columns[0]}_{row}", f"{tables.columns[-2]}_{row}"
        sheet, _, start, _, end = cells(book, first, last)
        chart.add_series(
            {
                "name": label,
                "categories": [sheet, headings, start, headings, end],
                "values": cells(book, first, last),
                "fill": {"color": colour},
                "gap": 60,
            }
        )
    return chart
