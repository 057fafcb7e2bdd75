"""Issues what is new in a list of requests, and tells beside each row what became of it.

Each row is all or nothing. What the owner typed is never touched: only the number and the sentence beside a row are
written, and an answer about a changed row is cleared once it has been carried out.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from quotebook.bookings.decisions import issue_next, must_not_be_past
from quotebook.contract.local import Local, local_for
from quotebook.desk import Desk
from quotebook.desk_books.filled_cells import fill_cells
from quotebook.desk_books.kept_requests import keep_request, kept_requests
from quotebook.desk_books.open_books import say_open
from quotebook.desk_books.outcome import Outcome
from quotebook.desk_books.request_book import CHOICES, NEW, REISSUE, SURE, choice_cells
from quotebook.desk_books.revising import revise_and_record
from quotebook.engine.model import RateCard
from quotebook.engine.money import in_major_units
from quotebook.errors import Doubtful, InvalidInput, Misuse, QuotebookError
from quotebook.ledger import Ledger
from quotebook.ledger.listing import ListedQuote
from quotebook.progress import watched
from quotebook.quoting.mail import keep_address
from quotebook.quoting.request_headings import IF_CHANGED, QUOTE_NUMBER, TOLD, headings_in
from quotebook.quoting.request_list import RequestList, RequestRow, read_request_list
from quotebook.quoting.request_rows import enquiry_in
from quotebook.quoting.requests import Enquiry
from quotebook.spreadsheets.filled_in import read_filled_workbook

MOST_CLIENTS = 1000
"""So many clients are offered to choose from: those of the latest quotes."""
LATEST = 20 * MOST_CLIENTS
"""So many revisions are looked through for them."""


class TakenRequests:
    """One list of requests: what is new in it is issued, and later what became of every row is written beside it."""

    def __init__(
        self, desk: Desk, ledger: Ledger, card: RateCard, path: Path, today: date, dry_run: bool = False
    ) -> None:
        self.card, self.ledger, self.path, self.dry_run = card, ledger, path, dry_run
        self.outcomes: list[Outcome] = []
        """What was done, and what waits."""
        self._taking: _Taking | None = None
        if locked := say_open(path):
            self.outcomes.append(Outcome(path.name, locked, waits=True))
            return
        self._read = path.read_bytes()
        try:
            found = read_request_list(path)
        except QuotebookError as error:
            self.outcomes.append(Outcome(path.name, _lines(error), waits=True))
            return
        self._taking = _Taking(desk, ledger, card, found, today, dry_run)
        try:
            for row in watched(found.rows, "Taking the requests"):
                self.outcomes.extend(self._taking.take(row))
        except BaseException:
            self.tell()
            raise

    def tell(self) -> list[Outcome]:
        """Write beside each row what has become of it by now; returns why not, if it cannot be written.

        Nothing is lost by that: a row whose number is not in the list is known again by what it asks for.
        """
        if not self._taking or self.dry_run:
            return []
        try:
            if self.path.read_bytes() != self._read:
                raise Misuse("was saved meanwhile, so that nothing was written into it: run this again")
            card_is_newer = self.path.stat().st_mtime < self._taking.desk.rate_card_path.stat().st_mtime
            self._taking.write_told(self.path)
            if card_is_newer or self._taking.issued:
                _write_choices(self.path, self.card, self.ledger)
        except (QuotebookError, OSError) as error:
            return [Outcome(self.path.name, str(error), waits=True)]
        return []


def _lines(error: QuotebookError) -> str:
    """An error's sentences on one line, without the file and the sheet, which the reader has open."""
    if isinstance(error, InvalidInput):
        return "; ".join(re.sub(r"^[^,]+, (?:sheet [^,]+, )?", "", complaint) for complaint in error.complaints)
    return str(error)


@dataclass
class _Taking:
    """One list while its rows are taken."""

    desk: Desk
    ledger: Ledger
    card: RateCard
    found: RequestList
    today: date
    dry_run: bool
    kept: dict[str, dict[str, str]] = field(init=False)
    seen: dict[str, int] = field(default_factory=dict)
    """The row that has each number."""
    issued: int = 0
    """How many quotes were issued."""
    written: dict[tuple[int, str], str] = field(default_factory=dict)
    """What is to stand in our own columns, by row and column."""

    def __post_init__(self) -> None:
        self.kept = kept_requests(self.desk)
        numbered = {_number(row) for row in self.found.rows}
        self.unclaimed = {number: texts for number, texts in self.kept.items() if number not in numbered}

    def take(self, row: RequestRow) -> Iterator[Outcome]:
        """Issue one row, or say why not. What became of it is noted for the book."""
        where = f"row {row.row}"
        try:
            number = _number(row) or self._known_again(row)
            outcome = self._numbered(row, number) if number else self._new(row)
        except QuotebookError as error:
            outcome = Outcome(where, f"not issued: {_lines(error)}", waits=True)
        if outcome:
            yield outcome
        if outcome and outcome.waits:
            self.written[row.row, TOLD] = outcome.text[:1].upper() + outcome.text[1:]

    def _known_again(self, row: RequestRow) -> str:
        """The number of the quote that a row without a number became, by what it asks for; empty if it became none."""
        texts = row.texts()
        number = next((number for number, kept in self.unclaimed.items() if kept == texts), "")
        if number:
            del self.unclaimed[number]
            self.written[row.row, QUOTE_NUMBER] = number
        return number

    def _numbered(self, row: RequestRow, number: str) -> Outcome | None:
        """What there is to do with a row that is a quote already."""
        where = f"row {row.row}"
        if earlier := self.seen.get(number):
            return Outcome(where, f"{number} is row {earlier} already: clear the number for a new quote", waits=True)
        self.seen[number] = row.row
        if not self.desk.latest_revision(number):
            return Outcome(where, f"no quote {number} was issued here: clear the number for a new quote", waits=True)
        before, now = self.kept.get(number), row.texts()
        if before is None or before == now:
            return None
        answer = str(row.value(IF_CHANGED) or "").casefold()
        if answer not in (NEW, REISSUE):
            changes = self._changes(before, now)
            return Outcome(where, f"this row was {number} and has changed ({changes}): {NEW} or {REISSUE}?", waits=True)
        outcome = self._new(row) if answer == NEW else self._revised(row, number)
        self.written[row.row, IF_CHANGED] = ""
        return outcome

    def _changes(self, before: Mapping[str, str], now: Mapping[str, str]) -> str:
        """What has changed in a row, by its headings."""
        said = headings_in(self.card.firm.language)
        names = [name for name in {**before, **now} if before.get(name) != now.get(name)]
        return "; ".join(
            f"{said[name]} {before.get(name) or 'blank'}, now {now.get(name) or 'blank'}" for name in names
        )

    def _enquiry(self, row: RequestRow) -> Enquiry:
        """What a row asks for. Raises InvalidInput where it cannot be used, or is in another unit than the card."""
        unit = self.card.firm.length_unit
        self.found.must_be_in(
            unit, self.card.firm.language,
            f"Rename this file: catching up makes a book in {unit}. Copy into it the rows that are no quotes yet, "
            "converted.",
        )  # fmt: skip
        return enquiry_in(row, self.found, self.card)

    def _new(self, row: RequestRow) -> Outcome:
        enquiry = self._enquiry(row)
        where = f"row {row.row}"
        sure = str(row.value(IF_CHANGED) or "").casefold() == SURE
        try:
            must_not_be_past(enquiry.request.event_date, self.today, sure)
        except Doubtful as error:
            heading = headings_in(self.card.firm.language)[IF_CHANGED]
            raise Misuse(f'{error} Correct it; or, if it is meant so, write "{SURE}" under {heading}.') from None
        if self.dry_run:
            return Outcome(where, f"would be issued to {enquiry.request.client or 'a client without a name'}")
        number = issue_next(
            self.desk, self.ledger, enquiry.card_from(self.card), enquiry.request, self.today,
            reserved=lambda number: keep_request(self.desk, number, row.texts()),
        ).number  # fmt: skip
        self.issued += 1
        self._keep_address(number, enquiry)
        self.written |= {(row.row, QUOTE_NUMBER): number} | ({(row.row, IF_CHANGED): ""} if sure else {})
        self.seen[number] = row.row
        return Outcome(where, f"issued as {number}")

    def _revised(self, row: RequestRow, number: str) -> Outcome:
        enquiry = self._enquiry(row)
        where = f"row {row.row}"
        if self.dry_run:
            return Outcome(where, f"the next revision of {number} would be issued")
        sentence = revise_and_record(self.desk, self.ledger, self.card, enquiry, number, self.today)
        keep_request(self.desk, number, row.texts())
        self._keep_address(number, enquiry)
        return Outcome(where, f"issued as the next revision of {number}. {sentence}")

    def _keep_address(self, number: str, enquiry: Enquiry) -> None:
        """Keep the client's address: the row's own, or the one that this client's latest row had."""
        same = [texts["email"] for texts in self.kept.values() if "email" in texts and _same_client(texts, enquiry)]
        if address := enquiry.email or (same[-1] if same else ""):
            keep_address(self.desk, number, address)

    def write_told(self, path: Path) -> None:
        """Write the numbers and sentences that differ from those in the file, all at once."""
        states = {quote.quote_number: quote for quote in self.ledger.listed_of(self.seen)}
        for number, row in self.seen.items():
            if number in states:
                self.written.setdefault((row, TOLD), _state(states[number], local_for(self.card.firm)))
        columns = {name: cell.column for name, cell in self.found.headings.items()}
        texts: dict[tuple[int, int], str] = {}
        said = headings_in(self.card.firm.language)
        missing = [name for name in (QUOTE_NUMBER, TOLD) if name not in columns and self.written]
        for column, name in enumerate(missing, self.found.width + 1):
            columns[name] = column
            texts[self.found.head.row, column] = said[name]
        rows = {row.row: row for row in self.found.rows}
        for (row, name), text in self.written.items():
            if str(rows[row].value(name) or "") != text:
                texts[row, columns[name]] = text
        if texts:
            fill_cells(path, self.found.head.sheet, texts)


def _number(row: RequestRow) -> str:
    return str(row.value(QUOTE_NUMBER) or "").upper()


def _same_client(texts: Mapping[str, str], enquiry: Enquiry) -> bool:
    return bool(enquiry.request.client) and texts.get("client", "").casefold() == enquiry.request.client.casefold()


def _state(quote: ListedQuote, local: Local) -> str:
    """How a quote stands, in a sentence for its row."""
    revision = f"revision {quote.revision}, " if quote.revision > 1 else ""
    said = f"{revision}{quote.state}"
    total = local.amount(in_major_units(quote.total, quote.minor_units))
    return f"{said[:1].upper()}{said[1:]}: {total} {quote.currency}"


def _write_choices(path: Path, card: RateCard, ledger: Ledger) -> None:
    """Bring the book's own choices up to date, kinds of panel and clients, if it has its sheet of them."""
    if path.suffix.lower() != ".xlsx":
        return
    book = read_filled_workbook(path)
    if CHOICES not in book.sheets:
        return
    clients = sorted(ledger.latest_clients(LATEST)[:MOST_CLIENTS])
    shown = {(place.row, place.column): value for place, value in book.cells.items() if place.sheet == CHOICES}
    wanted = choice_cells(card, clients)
    if texts := {place: text for place, text in wanted.items() if text != (shown.get(place) or "")}:
        fill_cells(path, CHOICES, texts)
