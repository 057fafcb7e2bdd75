"""Tables as lines of text, within 80 columns where their contents allow it."""

from collections.abc import Iterable, Iterator, Sequence

WIDTH = 80


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], left: int = 1) -> Iterator[str]:
    """The lines of a table, each column as wide as its longest text: the first `left` flush left, the others right."""
    rows = [headings, *rows]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    gap = "  " if sum(widths) + 2 * (len(widths) - 1) <= WIDTH else " "
    for row in rows:
        cells = (
            text.ljust(width) if place < left else text.rjust(width)
            for place, (text, width) in enumerate(zip(row, widths, strict=True))
        )
        yield gap.join(cells).rstrip()
