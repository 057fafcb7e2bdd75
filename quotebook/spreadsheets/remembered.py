"""What was read of parts that many files have alike, such as the styles of all quotes of a desk.

A reading is found again only by all the bytes that it was made of: a part with one other byte is another part, and is
read itself. A part in which anything is noted is read each time, so no note is ever left out.
"""

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

from quotebook.spreadsheets.grammar import Unknowns

Key = TypeVar("Key")
Reading = TypeVar("Reading")

MOST_READINGS = 256
MOST_BYTES = 1_000_000
"""The bytes of all parts whose readings are kept: about twenty quotes that differ in their floors."""
LONGEST = 200_000
"""The bytes of the longest part whose reading is kept: the longest of a quote's as LibreOffice saves it has 90,000."""


class Bounded(dict[Key, Reading]):
    """Readings by what they were made of; where one more would be too many, or too much, it begins anew."""

    def __init__(self) -> None:
        super().__init__()
        self._size = 0

    def keep(self, made_of: Key, reading: Reading, size: int, *, most: int, most_in_all: int) -> None:
        """Keep one more reading, of a size; at most so many are kept, and of so much size in all."""
        if len(self) >= most or self._size + size > most_in_all:
            self.clear()
            self._size = 0
        self[made_of] = reading
        self._size += size


class Remembered(Generic[Reading]):
    """Readings of one kind, each by the bytes that it was made of and all else that it depends on.

    It keeps at most MOST_READINGS, made of MOST_BYTES in all; one more, and it begins anew.
    """

    def __init__(self) -> None:
        self._kept: Bounded[tuple[Hashable, ...], Reading] = Bounded()

    def of(self, made_of: tuple[Hashable, ...], unknowns: Unknowns, read: Callable[[], Reading]) -> Reading:
        """What `read` gives, or gave when it was called with the same. `made_of` has the bytes of each part that it
        reads, whole, and whatever else changes what it gives. It notes in `unknowns` what is not known; nobody may
        change what it gives."""
        if (kept := self._kept.get(made_of)) is not None:
            return kept
        before = unknowns.times
        reading = read()
        size = sum(len(each) for each in made_of if isinstance(each, bytes))
        if reading is not None and unknowns.times == before and size <= LONGEST:
            self._kept.keep(made_of, reading, size, most=MOST_READINGS, most_in_all=MOST_BYTES)
        return reading
