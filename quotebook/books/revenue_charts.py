"""Draws the charts of the revenue workbook, on a sheet of their own."""

from xlsxwriter.chart import Chart

from quotebook.books.revenue_figures import RevenueTables
from quotebook.drawing.charts import X_AXIS, add_chart, cells, shades
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.styles import RULE


def write_charts(book: OwnerWorkbook, tables: RevenueTables) -> None:
    """Write three charts: what each kind earned by month, how busy it was, and this year beside the last."""
    pen = book.sheet("Charts", "Charts", "Drawn from the sheets By month and How busy.", (13,) * 9)
    charts = [
        _by_month(book, tables, "column", "goods", f"Goods by month, {tables.books.currency}", "#,##0"),
        _by_month(book, tables, "line", "busy", "Panel-days hired, of those owned", "0%"),
        _years(book, tables),
    ]
    for place, chart in enumerate(charts):
        pen.sheet.insert_chart(3 + 20 * place, 1, chart)
    book.page(pen, landscape=False)


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
                "fill": {"color": colour},
                "line": {"color": colour, "width": 2} if form == "line" else {"none": True},
                "gap": 60,
            }
        )
    chart.set_x_axis(X_AXIS | {"num_format": "mmm yy", "text_axis": True})
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
