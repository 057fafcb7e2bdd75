"""The charts of the revenue workbook, on a sheet of their own."""

from colorsys import hls_to_rgb, rgb_to_hls

from .look import INK, QUIET, RULE
from .owners import OwnersBook

FONT = {"name": "Arial", "size": 9, "color": INK}
SIZE = {"width": 940, "height": 380}
"""In pixels: three of them make a page."""


def shades(accent: str, count: int) -> list[str]:
    """Colours for `count` kinds: the firm's accent first, then others of its strength, evenly round the circle."""
    red, green, blue = (int(accent[start : start + 2], 16) / 255 for start in (1, 3, 5))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    colours = [hls_to_rgb((hue + place / count) % 1, lightness, saturation) for place in range(count)]
    return [accent, *("#" + "".join(f"{round(part * 255):02X}" for part in colour) for colour in colours[1:])]


def write_charts(book: OwnersBook, draft) -> None:
    """Three charts over the tables: what each kind earned by month, how busy it was, and this year beside the last."""
    pen = book.sheet("Charts", "Charts", "Drawn from the sheets By month and How busy.", (13,) * 9)
    charts = [
        _by_month(book, draft, "column", "goods", f"Goods by month, {draft.books.currency}", "#,##0"),
        _by_month(book, draft, "line", "busy", "Panel-days hired, of those owned", "0%"),
        _years(book, draft),
    ]
    for place, chart in enumerate(charts):
        pen.sheet.insert_chart(3 + 20 * place, 1, chart)
    book.page(pen, landscape=False)


def _by_month(book: OwnersBook, draft, form: str, figure: str, title: str, numbers: str):
    """A figure of each kind over the months."""
    chart = _chart(book, {"type": form} | ({"subtype": "stacked"} if form == "column" else {}), title, numbers)
    first, last = draft.months[0].name, draft.months[-1].name
    for number, colour in enumerate(shades(book.look.accent, len(draft.kinds)), 1):
        chart.add_series({
            "name": _cells(book, f"kind_{number}"),
            "categories": _cells(book, f"start_{first}", f"start_{last}"),
            "values": _cells(book, f"{figure}_{number}_{first}", f"{figure}_{number}_{last}"),
            "fill": {"color": colour},
            "line": {"color": colour, "width": 2} if form == "line" else {"none": True},
            "gap": 60,
        })  # fmt: skip
    chart.set_x_axis({"num_format": "mmm yy", "num_font": FONT, "line": {"color": RULE}, "text_axis": True})
    return chart


def _years(book: OwnersBook, draft):
    """Every column of the tables, this year so far and last year to the same month."""
    chart = _chart(book, {"type": "column"}, f"Year to date against last year, {draft.books.currency}", "#,##0")
    headings = _cells(book, "kind_1")[1]
    for row, label, colour in (("last_year", "Last year, to then", RULE), ("this_year", "This year", book.look.accent)):
        first, last = f"{draft.columns[0]}_{row}", f"{draft.columns[-2]}_{row}"
        sheet, _, start, _, end = _cells(book, first, last)
        chart.add_series({
            "name": label, "categories": [sheet, headings, start, headings, end],
            "values": _cells(book, first, last), "fill": {"color": colour}, "gap": 60,
        })  # fmt: skip
    chart.set_x_axis({"num_font": FONT, "line": {"color": RULE}})
    return chart


def _chart(book: OwnersBook, kind: dict, title: str, numbers: str):
    chart = book.book.add_chart(kind)
    chart.set_title({"name": title, "name_font": FONT | {"size": 11, "bold": True}, "overlay": False})
    chart.set_y_axis({
        "num_format": numbers, "num_font": FONT | {"color": QUIET}, "line": {"none": True},
        "major_gridlines": {"visible": True, "line": {"color": RULE, "width": 0.5}}, "min": 0,
    })  # fmt: skip
    chart.set_legend({"position": "bottom", "font": FONT})
    chart.set_chartarea({"border": {"none": True}})
    chart.set_size(SIZE)
    return chart


def _cells(book: OwnersBook, first: str, last: str | None = None) -> list:
    """Sheet, first row and column, last row and column of the cells from one name to another, as charts want them."""
    sheet, row, column = book.places[first]
    _, last_row, last_column = book.places[last or first]
    return [sheet, row - 1, column - 1, last_row - 1, last_column - 1]
