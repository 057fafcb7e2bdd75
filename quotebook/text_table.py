"""Tables as lines of text, within 80 columns where their contents allow it."""

from collections.abc import Iterable, Iterator, Sequence

WIDTH = 80


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1) -> Iterator[str]:
    """Columns as wide as what stands in them; the first `left` of them flush left, numbers flush right."""
    rows = [headings, *rows]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    gap = "  " if sum(widths) + 2 * (len(widths) - 1) <= WIDTH else " "
    for row in rows:
        cells = (
            text.ljust(width) if place < left else text.rjust(width)
            for place, (text, width) in enumerate(zip(row, widths))
        )
        yield gap.join(cells).rstrip()
