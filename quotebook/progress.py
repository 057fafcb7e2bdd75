"""Shows on a terminal how far long work has come: a line below which nothing stands, gone when the work is done.

Nothing is shown where standard error is no terminal, nor before a second has passed, so that quick work stays quiet.
"""

import sys
from collections.abc import Iterable, Iterator, Sized
from time import monotonic
from typing import TypeVar

T = TypeVar("T")

AFTER, EVERY = 1.0, 0.1
"""Seconds before the line is shown, and between two changes of it."""
WIDTH = 30
"""Characters of the bar."""
CLEAR = "\r\x1b[K"
"""To the start of the line, and nothing on it (ECMA-48: EL)."""


def watched(items: Iterable[T], label: str, count: int | None = None) -> Iterator[T]:
    """The items one after another, with a line that says how many of `count` are done; without `count`, of all."""
    total = count if count is not None else len(items) if isinstance(items, Sized) else 0
    if not total or not is_terminal():
        yield from items
        return
    start = monotonic()
    next_change = start + AFTER
    try:
        for done, item in enumerate(items):
            if (now := monotonic()) >= next_change:
                next_change = now + EVERY
                _show(_line(label, done, total, now - start))
            yield item
    finally:
        if next_change > start + AFTER:
            clear()


def clear() -> None:
    """Make room for a line of output where the bar may stand; the bar comes back below it."""
    if is_terminal():
        _show("")


def is_terminal() -> bool:
    """Whether somebody reads standard error on a terminal; it is None where it was closed before the program began."""
    return sys.stderr is not None and sys.stderr.isatty()


def _line(label: str, done: int, total: int, seconds: float) -> str:
    """What is done of what there is, and the seconds that the rest takes at the pace so far."""
    filled = WIDTH * done // total
    left = f", {seconds / done * (total - done):.0f} s left" if done else ""
    return f"{label} [{'#' * filled}{'-' * (WIDTH - filled)}] {done} of {total}{left}"


def _show(line: str) -> None:
    sys.stderr.write(CLEAR + line)
    sys.stderr.flush()
