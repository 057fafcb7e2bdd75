"""Lines on a chart, as SVG."""

from collections.abc import Mapping
from html import escape
from math import log10

WIDTH, HEIGHT, MARGIN = 640, 300, 56
COLOURS = ("#335577", "#A23B2A", "#5B7F3A", "#8A6D1F")


def svg(title: str, across: str, up: str, series: Mapping[str, Mapping[int, float]], by_tens: bool = False) -> str:
    """A chart of some series from 0 up; `by_tens` gives each power of ten the same room across."""
    place = log10 if by_tens else float
    xs = sorted({x for points in series.values() for x in points})
    most = max(y for points in series.values() for y in points.values()) * 1.15
    first, last = place(xs[0]), place(xs[-1])

    def at(x: float, y: float) -> tuple[float, float]:
        along = (place(x) - first) / (last - first or 1)
        return round(MARGIN + along * (WIDTH - 2 * MARGIN), 1), round(
            HEIGHT - MARGIN - y / most * (HEIGHT - 2 * MARGIN), 1
        )

    drawn = [_text(WIDTH / 2, 22, title), _text(WIDTH / 2, HEIGHT - 10, across), _text(MARGIN, 42, up, "start")]
    drawn += [_text(at(x, 0)[0], HEIGHT - MARGIN + 18, f"{x:,}") for x in xs]
    drawn += [_text(MARGIN - 6, at(xs[0], y)[1] + 4, f"{y:.3g}", "end") for y in (0, most / 2, most)]
    drawn.append(_line([(MARGIN, MARGIN), at(xs[0], 0), at(xs[-1], 0)], "#6E6E6E"))
    for number, ((name, points), colour) in enumerate(zip(series.items(), COLOURS, strict=False)):
        drawn.append(_line([at(x, y) for x, y in points.items()], colour))
        drawn.append(_text(WIDTH - MARGIN, 42 + 14 * number, name, "end", colour))
    return "\n".join([
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="Arial" font-size="12">',
        *drawn, "</svg>\n",
    ])  # fmt: skip


def _line(points: list[tuple[float, float]], colour: str) -> str:
    return f'<polyline fill="none" stroke="{colour}" points="{" ".join(f"{x},{y}" for x, y in points)}"/>'


def _text(x: float, y: float, text: str, anchor: str = "middle", colour: str = "#2B2B2B") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}">{escape(text)}</text>'
