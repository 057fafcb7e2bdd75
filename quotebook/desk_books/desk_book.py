"""Writes the desk book: what waits today, every quote, what is free, the money, the season; and the owner's own."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from quotebook.bookings.stock_workbook import write_free
from quotebook.desk import Desk
from quotebook.desk_books.book_data import BookData
from quotebook.desk_books.edition import write_edition
from quotebook.desk_books.kept_sheet import Kept, write_kept
from quotebook.desk_books.money_sheet import write_money
from quotebook.desk_books.places import desk_book, earlier_books
from quotebook.desk_books.quotes_sheet import FIRST_ROW, Entries, OwnersValue, write_owners, write_quotes
from quotebook.desk_books.season_sheet import Season, write_season
from quotebook.desk_books.today import tasks
from quotebook.desk_books.today_sheet import write_today
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.errors import Misuse
from quotebook.files import atomically


@dataclass(frozen=True)
class Owners:
    """What the owner wrote, which every edition carries on."""

    entries: Entries = field(default_factory=lambda: Entries({}, {}, {}))
    sheets: Mapping[str, Mapping[tuple[int, int], OwnersValue]] = field(default_factory=dict)
    kept: tuple[Kept, ...] = ()
    shown_before: Mapping[str, Counter[str]] = field(default_factory=dict)
    """What the edition showed that they wrote it into."""


def write_desk_book(
    file: BinaryIO, data: BookData, season: Season, owners: Owners, key: bytes, written_at: str
) -> dict[str, Counter[str]]:
    """Write one edition of the book, with everything that the owner wrote into the last; returns what it shows."""
    minor_units = int(data.card.rates.minor_units)
    book = OwnerWorkbook(file, data.card.firm, minor_units, f"Desk book, {data.today}")
    rows_of = {row.quote.quote_number: place + 1 for place, row in enumerate(data.quotes, FIRST_ROW)}
    write_today(book, tasks(data), data.today, rows_of)
    write_quotes(book, data.quotes, owners.entries)
    panels = {item: by_day for item, by_day in data.free.items() if item.what == "panels"}
    write_free(book, "Calendar", "Free panels, twelve weeks", data.owned, panels, data.today)
    write_money(book, data)
    write_season(book, season)
    for title, cells in owners.sheets.items():
        _write_own_sheet(book, title, cells)
    write_kept(book, owners.kept)
    shown = write_edition(book, written_at, {row.quote.quote_number: row.basis for row in data.quotes}, key)
    book.close()
    return shown


def _write_own_sheet(book: OwnerWorkbook, title: str, cells: Mapping[tuple[int, int], OwnersValue]) -> None:
    """Write a sheet of the owner's own again, its values at their places."""
    pen = book.plain_sheet(title)
    for (row, column), value in cells.items():
        write_owners(pen, row - 1, column - 1, value, "plain")


def renew(desk: Desk, data: BookData, season: Season, owners: Owners, read: bytes | None) -> bool:
    """Put a new edition in place of the last, unless it would show the same; returns whether it did.

    `read` is the last edition as it was read, which is kept among the earlier books if the owner wrote into it. Raises
    Misuse if the book was saved meanwhile, and leaves it as it is.
    """
    path = desk_book(desk)
    written_at = datetime.now(UTC).isoformat(timespec="seconds")
    with atomically(path, overwrite=True) as temporary:
        with temporary.open("wb") as file:
            shown = write_desk_book(file, data, season, owners, desk.key(), written_at)
        now = path.read_bytes() if path.exists() else None
        if now != read:
            raise Misuse(f"{path.name} was saved meanwhile, and was left as it is: run this again.")
        same = read is not None and shown == owners.shown_before and not _is_written_into(desk, read)
        if same:
            temporary.write_bytes(now or b"")
        elif read is not None and _is_written_into(desk, read):
            _keep_earlier(desk, read)
    if not same:
        _remember(desk, path.read_bytes())
    return not same


def _is_written_into(desk: Desk, read: bytes) -> bool:
    """Whether a book is other than it was written."""
    path = _digest_path(desk)
    return not path.exists() or path.read_text("ascii").strip() != _digest(read)


def _keep_earlier(desk: Desk, read: bytes) -> None:
    """Keep the book as the owner left it, named by the moment."""
    folder = earlier_books(desk)
    folder.mkdir(exist_ok=True)
    moment = datetime.now().strftime("%Y-%m-%d %H%M%S")
    with atomically(folder / f"desk_book {moment} {_digest(read)[:6]}.xlsx", overwrite=True) as path:
        path.write_bytes(read)


def _remember(desk: Desk, written: bytes) -> None:
    path = _digest_path(desk)
    path.parent.mkdir(exist_ok=True)
    with atomically(path, overwrite=True) as temporary:
        temporary.write_text(_digest(written), "ascii")


def _digest_path(desk: Desk) -> Path:
    return earlier_books(desk) / "last_written.txt"


def _digest(content: bytes) -> str:
    return sha256(content).hexdigest()
