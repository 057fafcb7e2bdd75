"""Native charts in the look of the owner's workbooks, drawn from cells by their names."""

from colorsys import hls_to_rgb, rgb_to_hls

from quotebook.drawing.owner_workbook import OwnersBook
from quotebook.drawing.styles import INK, QUIET, RULE

FONT = {"name": "Arial", "size": 9, "color": INK}
SIZE = {"width": 940, "height": 380}
"""In pixels: two or three of them make a page."""


def shades(accent: str, count: int) -> list[str]:
    """Colours for `count` kinds: the firm's accent first, then others of its strength, evenly round the circle."""
    red, green, blue = (int(accent[start : start + 2], 16) / 255 for start in (1, 3, 5))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    colours = [hls_to_rgb((hue + place / count) % 1, lightness, saturation) for place in range(1, count)]
    return [accent, *("#" + "".join(f"{round(part * 255):02X}" for part in colour) for colour in colours)]


def add_chart(book: OwnersBook, kind: dict, title: str, numbers: str, least: float | None = 0):
    """A chart without its series; `numbers` is the format of its values and `least` where they start."""
    chart = book.book.add_chart(kind)
    chart.set_title({"name": title, "name_font": FONT | {"size": 11, "bold": True}, "overlay": False})
    chart.set_y_axis(
        {
            "num_format": numbers,
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


X_AXIS = {"num_font": FONT, "line": {"color": RULE}, "label_position": "low"}


def cells(book: OwnersBook, first: str, last: str | None = None) -> list:
    """The cells from one name to another as a chart wants them: sheet, first row and column, last row and column."""
    sheet, row, column = book.places[first]
    _, last_row, last_column = book.places[last or first]
    return [sheet, row - 1, column - 1, last_row - 1, last_column - 1]
