"""Catches up with everything that an owner wrote and dropped since the last time, in an order that cannot harm.

The decisions come first, since they were made by what the desk book showed; then new requests, then the post, and the
desk book is written anew last. Each step can be run again at any time: what is done already is not done twice.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from quotebook.bookings.archive import open_ledger
from quotebook.desk import Desk
from quotebook.desk_books.book_data import gather
from quotebook.desk_books.deciding import Decided, decide
from quotebook.desk_books.desk_book import Owners, renew
from quotebook.desk_books.one_at_a_time import one_at_a_time
from quotebook.desk_books.open_books import say_open
from quotebook.desk_books.outcome import Outcome
from quotebook.desk_books.places import desk_book, request_lists
from quotebook.desk_books.post import take_post
from quotebook.desk_books.quotes_sheet import Entries
from quotebook.desk_books.requesting import TakenRequests
from quotebook.desk_books.returned_book import ReturnedBook, read_desk_book
from quotebook.desk_books.season_sheet import season
from quotebook.desk_books.setting_up import set_up
from quotebook.desk_books.today import tasks
from quotebook.engine.model import RateCard
from quotebook.errors import QuotebookError
from quotebook.ledger import Ledger


@dataclass(frozen=True)
class CaughtUp:
    """What was done, and what waits."""

    decided: tuple[Outcome, ...]
    issued: tuple[Outcome, ...]
    returned: tuple[Outcome, ...]
    book: tuple[Outcome, ...]
    """What is to be said of the desk book itself."""

    @property
    def waiting(self) -> list[Outcome]:
        """What waits for the owner."""
        everything = (*self.book, *self.decided, *self.issued, *self.returned)
        return [outcome for outcome in everything if outcome.waits]


def catch_up(desk: Desk, today: date, dry_run: bool = False, ledger: Ledger | None = None) -> CaughtUp:
    """Take the decisions, the requests and the post of a desk, and write its book anew.

    With `dry_run` nothing is recorded or written, and the outcomes say what would be done. `ledger` is the desk's own
    unless another is given. Raises what the rate card
    and the ledger raise; a row, a file or a decision that cannot be taken is an outcome.
    """
    card = desk.card()
    with one_at_a_time(desk):
        if not dry_run:
            set_up(desk)
        return _catch_up(desk, ledger or open_ledger(desk), card, today, dry_run)


def _catch_up(desk: Desk, ledger: Ledger, card: RateCard, today: date, dry_run: bool) -> CaughtUp:
    book = _Book(desk, ledger, card, today, dry_run)
    decided = book.take_decisions()
    lists = [TakenRequests(desk, ledger, card, path, today, dry_run) for path in request_lists(desk)]
    issued = [outcome for taken in lists for outcome in taken.outcomes]
    returned = list(take_post(desk, ledger, dry_run))
    issued += [outcome for taken in lists for outcome in taken.tell()]
    told = [("Decision", each) for each in decided] + [("Request", each) for each in issued]
    told += [("Post", each) for each in returned]
    written = [] if dry_run else book.write([(what, outcome) for what, outcome in told if outcome.waits])
    return CaughtUp(tuple(decided), tuple(issued), tuple(returned), (*book.trouble, *written))


class _Book:
    """The desk book while a desk catches up: read first, and written last."""

    def __init__(self, desk: Desk, ledger: Ledger, card: RateCard, today: date, dry_run: bool) -> None:
        self.desk, self.ledger, self.card, self.today, self.dry_run = desk, ledger, card, today, dry_run
        self.path = desk_book(desk)
        self.trouble: list[Outcome] = []
        """Why the book can be neither read nor written."""
        self.read: bytes | None = None
        self.owners = Owners()

    def take_decisions(self) -> list[Outcome]:
        """Carry out what the owner decided in the book, and remember everything else that was written there."""
        if locked := say_open(self.path):
            self.trouble.append(Outcome("Desk book", locked, waits=True))
        elif self.path.exists():
            self.read = self.path.read_bytes()
            try:
                returned = read_desk_book(self.path, self.desk.key())
            except QuotebookError as error:
                self.trouble.append(Outcome("Desk book", str(error), waits=True))
            else:
                done = self._decided(returned)
                entries = Entries(done.left, done.told, returned.own_columns)
                shown = returned.edition.shown
                self.owners = Owners(entries, returned.own_sheets, tuple(returned.kept), shown)
                return done.outcomes
        return []

    def _decided(self, returned: ReturnedBook) -> Decided:
        """Carry out the decisions of a book; where there are none, how everything stands need not be looked up."""
        if not returned.decisions:
            return Decided()
        data = gather(self.desk, self.ledger, self.card, self.today, returned.decisions)
        return decide(self.desk, self.ledger, self.card, returned, data, self.dry_run)

    def write(self, told: Sequence[tuple[str, Outcome]]) -> list[Outcome]:
        """Write the book anew, with what could not be taken in, unless it could not be read or would show the same."""
        if self.trouble:
            return []
        written_beside = self.owners.entries.quotes
        data = replace(gather(self.desk, self.ledger, self.card, self.today, written_beside), told=told)
        found = season(self.ledger, self.card, self.today.year)
        try:
            new = renew(self.desk, data, found, self.owners, self.read)
        except QuotebookError as error:
            return [Outcome("Desk book", str(error), waits=True)]
        count = len(tasks(data))
        return [
            Outcome(self.path.name, f"written, {count} {'thing waits' if count == 1 else 'things wait'} on Today")
        ] * new


LINES = 10
"""The most lines that are said of one run."""


def say_caught_up(done: CaughtUp) -> Iterator[str]:
    """What was done and what waits, in at most LINES lines."""
    waiting = done.waiting
    steps = (("Decisions", done.decided), ("Requests", done.issued), ("Post", done.returned), ("Desk book", done.book))
    said = [_step(name, outcomes) for name, outcomes in steps]
    yield from said
    if waiting:
        room = LINES - len(said) - 1
        shown = waiting if len(waiting) <= room else waiting[: room - 1]
        yield f"{len(waiting)} {'waits' if len(waiting) == 1 else 'wait'} for you:"
        yield from (f"  {outcome}" for outcome in shown)
        if len(shown) < len(waiting):
            yield f"  and {len(waiting) - len(shown)} more, each told beside its row or on the sheet Today."


def _step(name: str, outcomes: tuple[Outcome, ...]) -> str:
    """One line about a step: how much was done, and of a few things which."""
    done = [outcome for outcome in outcomes if not outcome.waits]
    shown = done if len(done) <= 2 else [f"{len(done)} done", *(outcome for outcome in done if outcome.notable)]
    return f"{name}: {'; '.join(map(str, shown)) or 'nothing new'}."
