"""Gathers what the desk book shows: quotes with their money and their answers, what is free, what came in."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import or_

from quotebook.bookings.availability import FreeByDay, free_by_day
from quotebook.bookings.payments import Account, account_of, accounts
from quotebook.desk import Desk
from quotebook.desk_books.answers import Answer, answers_to
from quotebook.desk_books.outcome import Outcome
from quotebook.engine.model import RateCard
from quotebook.engine.stock import Item, owned
from quotebook.ledger import Ledger, Standing
from quotebook.ledger.listing import ListedQuote, of_days, open_on
from quotebook.ledger.payments import Payment
from quotebook.ledger.states import OPEN

CALENDAR_WEEKS = 12
LONGEST_JOB = timedelta(days=60)
"""A job that is out is looked for among those that started at most this long ago."""
AHEAD = timedelta(days=10)
"""Deliveries and returns are shown this long before."""


@dataclass(frozen=True)
class QuoteRow:
    """One quote as the book shows it."""

    account: Account
    valid_until: date
    answers: Sequence[Answer]
    """What came back, the client's latest last."""
    closed: bool
    """Whether nothing more is to be done about it."""
    would_hold: tuple[date, date] | None
    """The first and the last day on which its panels would be away; None unless it is still to be decided."""

    @property
    def quote(self) -> ListedQuote:
        return self.account.quote

    @property
    def latest(self) -> Answer | None:
        """The answer that counts: the one that the client sent last."""
        return self.answers[-1] if self.answers else None

    @property
    def basis(self) -> str:
        """What a decision about it rests on: the revision, and the answer that counts."""
        return f"{self.quote.revision} {self.latest.sha256 if self.latest else ''}".strip()


@dataclass(frozen=True)
class BookData:
    """Everything that one edition shows."""

    card: RateCard
    today: date
    quotes: Sequence[QuoteRow]
    """Those that something is to be done about by the date of their event, then the closed ones, the latest first."""
    jobs: Sequence[Standing]
    """Agreed quotes whose floors go out or come back soon, or should have."""
    owned: Mapping[Item, int]
    free: FreeByDay
    """From today on, for CALENDAR_WEEKS."""
    payments: Sequence[Payment]
    """Those of this month and the last."""
    told: Sequence[tuple[str, Outcome]] = ()
    """What could not be taken in, each with a word for what it is: a decision, a request, a file in the post."""


def gather(desk: Desk, ledger: Ledger, card: RateCard, today: date, also: Collection[str] = ()) -> BookData:
    """Read all of it from the ledger, and the answers from the files beside what came back.

    Quotes that nothing is to be done about are shown if their event is this month, was in the last or is later, or if
    they have one of the numbers `also`; payments, if they came in this month or the last.
    """
    since = (today.replace(day=1) - timedelta(1)).replace(day=1)
    found = accounts(ledger, card.payment_terms, or_(open_on(today), of_days(since, date.max)))
    rest = {*also} - {account.quote.quote_number for account in found}
    found += [account_of(quote, card.payment_terms) for quote in ledger.listed_of(rest)]
    going_on = [account.quote.quote_number for account in found if not _closed(account, today)]
    answers = answers_to(desk, ledger, going_on, today) if going_on else {}
    undecided = [each.quote for each in found if each.quote.state in OPEN and not _closed(each, today)]
    days_held = ledger.days_held([quote.quote_number for quote in undecided])
    would_hold = {
        (quote.quote_number, quote.revision): days_held[quote.quote_number, quote.revision] for quote in undecided
    }
    rows = [
        QuoteRow(
            account,
            account.quote.valid_until or account.quote.issued_on + timedelta(days=int(card.firm.valid_days)),
            answers.get(account.quote.quote_number, ()),
            _closed(account, today),
            would_hold.get((account.quote.quote_number, account.quote.revision)),
        )
        for account in found
    ]
    first, last = today, today + timedelta(weeks=CALENDAR_WEEKS, days=-1)
    return BookData(
        card,
        today,
        sorted(rows, key=_order),
        ledger.agreed(today - LONGEST_JOB, today + AHEAD),
        owned(card),
        free_by_day(ledger, card, first, last),
        ledger.payments(since),
    )


def _closed(account: Account, today: date) -> bool:
    """Whether nothing more is to be done: lost, or over and paid."""
    quote = account.quote
    if account.to_give_back or account.dues:
        return False
    if quote.state in OPEN:
        return quote.issued_on <= quote.event_date < today  # one that was issued afterwards is still to be decided
    return quote.state in ("counted back", "cancelled", "declined")


def _order(row: QuoteRow) -> tuple[bool, int, str]:
    day = row.quote.event_date.toordinal()
    return row.closed, -day if row.closed else day, row.quote.quote_number
