"""Native charts in the style of the owner's workbooks; their data are cells, found by name."""

from colorsys import hls_to_rgb, rgb_to_hls

from xlsxwriter.chart import Chart

from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.drawing.styles import INK, QUIET, RULE

FONT: dict[str, str | int] = {"name": "Arial", "size": 9, "color": INK}
X_AXIS = {"num_font": FONT, "line": {"color": RULE}, "label_position": "low"}
SIZE = {"width": 940, "height": 380}
"""In pixels: two or three of them fill a page."""


MARKERS = ("circle", "square", "triangle", "diamond", "x", "plus", "star", "long_dash")
"""The marks on the lines of a chart, so that nobody has to tell the lines by their colours."""

LIGHTEST = 0.8
"""The lightness of the last kind's colour; that of white is 1."""


def shades(accent: str, count: int) -> list[str]:
    """Colours for `count` kinds: the firm's accent, then other hues, each lighter than the one before by equal steps.

    So they differ in grey print too, and to people who see red and green alike.
    """
    red, green, blue = (int(accent[start : start + 2], 16) / 255 for start in (1, 3, 5))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    lighter = (LIGHTEST - lightness) / max(1, count - 1)
    colours = [hls_to_rgb((hue + step / count) % 1, lightness + step * lighter, saturation) for step in range(1, count)]
    return [accent, *("#" + "".join(f"{round(part * 255):02X}" for part in colour) for colour in colours)]


def line_of(number: int, colour: str) -> dict[str, object]:
    """The line of a chart's series, by its number from 1: its colour and its own mark."""
    form = MARKERS[(number - 1) % len(MARKERS)]
    mark = {"type": form, "size": 6, "fill": {"color": colour}, "border": {"color": INK}}
    return {"line": {"color": colour, "width": 2}, "marker": mark}


def add_chart(
    book: OwnerWorkbook, kind: dict[str, str], title: str, number_format: str, least: float | None = 0
) -> Chart:
    """A new chart without series. Its values are displayed in `number_format`, and their axis starts at `least`."""
    chart = book.book.add_chart(kind)
    chart.set_title({"name": title, "name_font": FONT | {"size": 11, "bold": True}, "overlay": False})
    chart.set_y_axis(
        {
            "num_format": number_format,
            "num_font": FONT | {"color": QUIET},
            "line": {"none": True},
            "min": least,
            "major_gridlines": {"visible": True, "line": {"color": RULE, "width": 0.5}},
        }
    )
    chart.set_x_axis(X_AXIS)
    chart.set_legend({"position": "bottom", "font": FONT})
    chart.set_chartarea({"border": {"none": True}})
    chart.set_size(SIZE)
    return chart


def cells(book: OwnerWorkbook, first: str, last: str | None = None) -> list[str | int]:
    """The cells from one name to another, as the list that XlsxWriter takes.

    It has the sheet, the first row and column, and the last row and column; rows and columns count from 0.
    """
    sheet, top, left = book.address_of(first)
    _, bottom, right = book.address_of(last or first)
    return [sheet, top - 1, left - 1, bottom - 1, right - 1]
