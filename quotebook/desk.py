"""The owner's folder: the rate card, the key that signs quotes, and the quotes that went out."""

import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from itertools import count
from pathlib import Path
from secrets import token_hex

from quotebook.engine.model import RateCard
from quotebook.errors import Misuse
from quotebook.files import atomically

KEY_BYTES = 32
"""Length of the key: that of the SHA-256 digest it signs with (RFC 2104, section 3)."""

_NUMBER = re.compile(r"\.?Q(\d{4,})(?:-r\d+\.xlsx)?")
"""The name of a quote's file in `issued`, or of the empty file that reserves its number."""


@dataclass(frozen=True)
class Desk:
    """A folder that `init` has made a desk."""

    folder: Path

    @property
    def rate_card_path(self) -> Path:
        return self.folder / "rate_card.xlsx"

    @property
    def key_path(self) -> Path:
        return self.folder / "signing.key"

    @property
    def issued(self) -> Path:
        """The folder that keeps every quote as it was sent out."""
        return self.folder / "issued"

    def card(self) -> RateCard:
        """The rate card as it is now.

        Raises InvalidInput with every mistake in it; Misuse if its unit of length was changed and its entries were
        not, which would all mean something else; Unreadable if it is no workbook.
        """
        from quotebook.rate_card.reader import read_rate_card

        self._must_be_a_desk()
        card = read_rate_card(self.rate_card_path)
        unit, before = card.firm.length_unit, self.unit_of_entries()
        if before not in ("", unit):
            raise Misuse(
                f"{self.rate_card_path}: its unit of length was {before} and is now {unit}, and its entries were not "
                f"converted. Convert them: quotebook update-card --unit {unit}. If they are in {unit} already: "
                "quotebook update-card --as-entered."
            )
        return card

    def unit_of_entries(self) -> str:
        """The unit of length that the card's entries were last known to be in; empty if nobody has noted it."""
        return self._unit_path.read_text("ascii").strip() if self._unit_path.exists() else ""

    def note_unit(self, length_unit: str) -> None:
        """Note the unit of length that the card's entries are in."""
        with atomically(self._unit_path, overwrite=True) as path:
            path.write_text(f"{length_unit}\n", "ascii")

    @property
    def _unit_path(self) -> Path:
        return self.folder / "unit_of_length.txt"

    def key(self) -> bytes:
        """The signing key. Raises Misuse if its file is missing or does not hold a key."""
        self._must_be_a_desk()
        try:
            key = bytes.fromhex(self.key_path.read_text("ascii"))
        except (OSError, ValueError) as error:
            raise Misuse(f"{self.key_path}: cannot be read as a key ({error}). Put back your copy.") from error
        if len(key) != KEY_BYTES:
            raise Misuse(f"{self.key_path}: holds {len(key)} bytes, not a key of {KEY_BYTES}. Put back your copy.")
        return key

    def key_caution(self) -> str:
        """A warning if others on this computer can read the key; empty if only its owner can."""
        if os.name != "posix" or not stat.S_IMODE(self.key_path.stat().st_mode) & 0o077:
            return ""
        return f"{self.key_path}: others on this computer can read the signing key. Run chmod 600 {self.key_path}"

    def issued_path(self, number: str, revision: int) -> Path:
        """The file that keeps revision `revision` of quote `number`."""
        return self.issued / f"{number}-r{revision}.xlsx"

    def issued_stamp(self, number: str, revision: int) -> list[str] | None:
        """The texts of the stamp in the desk's copy of a quote; None if there is no copy."""
        from quotebook.contract.stamp import stamp_texts
        from quotebook.spreadsheets.reading import read_workbook

        kept = self.issued_path(number, revision)
        if not _NUMBER.fullmatch(kept.name) or not kept.is_file():
            return None
        return stamp_texts(read_workbook(kept))

    def latest_revision(self, number: str) -> int:
        """The last revision of a quote that was issued; 0 if the quote was never issued."""
        return _latest_revisions(self.issued, self.issued.stat().st_mtime_ns).get(number, 0)

    def numbers(self) -> Iterator[str]:
        """Free quote numbers, `Q0001` onwards. Each one that is yielded counts as used from then on.

        A number is reserved by creating an empty file `.Q0001`, which only one process can do. The
        quotes in the folder count too, since a copied folder may have lost its hidden files.
        """
        self._must_be_a_desk()
        used = [int(match[1]) for entry in os.scandir(self.issued) if (match := _NUMBER.fullmatch(entry.name))]
        for candidate in count(max(used, default=0) + 1):
            number = f"Q{candidate:04}"
            try:
                (self.issued / f".{number}").open("x").close()
            except FileExistsError:
                continue
            except OSError as error:
                raise Misuse(f"{self.issued}: a quote cannot be written there: {error.strerror}.") from error
            yield number

    def _must_be_a_desk(self) -> None:
        parts = (self.rate_card_path, self.key_path, self.issued)
        missing = [path.name for path in parts if not path.exists()]
        if len(missing) == len(parts):
            raise Misuse(f"{self.folder}: is not a desk yet. Make it one: quotebook init {self.folder}")
        if missing:
            raise Misuse(f"{self.folder}: the desk has lost {' and '.join(missing)}. Put back your copy.")


def init(folder: str | os.PathLike[str], template: str = "rate_card.xlsx") -> Desk:
    """Make `folder` a desk, with a clean copy of a shipped rate card and a new signing key.

    Raises Misuse, and writes nothing, if any part of a desk is there already.
    """
    desk = Desk(Path(folder))
    present = [path.name for path in (desk.rate_card_path, desk.key_path, desk.issued) if path.exists()]
    if present:
        raise Misuse(f"{folder}: already has {', '.join(present)}, and nothing was written. Name another folder.")
    try:
        desk.issued.mkdir(parents=True)
        key = os.open(desk.key_path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(key, "w", encoding="ascii") as file:
            file.write(token_hex(KEY_BYTES) + "\n")
    except OSError as error:
        raise Misuse(f"{folder}: cannot be made a desk: {error.strerror}.") from error
    with atomically(desk.rate_card_path) as path:
        path.write_bytes((files("quotebook.templates") / template).read_bytes())
    return desk


@lru_cache(maxsize=4)
def _latest_revisions(issued: Path, changed: int) -> dict[str, int]:
    """The last revision of each quote in a folder; listed again only when the folder's time of change does."""
    latest: dict[str, int] = {}
    for entry in os.scandir(issued):
        number, _, revision = entry.name.removesuffix(".xlsx").rpartition("-r")
        if entry.name.endswith(".xlsx") and revision.isdecimal():
            latest[number] = max(latest.get(number, 0), int(revision))
    return latest
