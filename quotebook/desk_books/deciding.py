"""Carries out what the owner decided in the desk book, each as the command for it would.

A decision and a payment in one row stand for themselves, and each is done whole or not at all. What was done leaves its
cells; what cannot be done stays, with the reason beside it, until the owner changes it.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path

from quotebook.billing.billing import bill
from quotebook.bookings import decisions as bookings
from quotebook.bookings.archive import returned_path
from quotebook.bookings.availability import say_alternatives
from quotebook.bookings.decisions import NotAccepted
from quotebook.bookings.payments import pay
from quotebook.contract.local import local_for
from quotebook.contract.stamped import amount_of
from quotebook.contract.values import CellValue, day_of, is_day
from quotebook.desk import Desk
from quotebook.desk_books.book_data import BookData, QuoteRow
from quotebook.desk_books.outcome import Outcome
from quotebook.desk_books.quotes_sheet import (
    AGREE,
    ALL,
    BILL,
    CANCEL,
    COUNTED_BACK,
    DECISIONS,
    DECLINE,
    DELIVERED,
    REISSUE,
)
from quotebook.desk_books.returned_book import ReturnedBook
from quotebook.engine.dues import PURPOSES
from quotebook.engine.model import RateCard, same_text
from quotebook.engine.money import in_major_units, money, number
from quotebook.errors import Doubtful, Misuse, QuotebookError
from quotebook.ledger import Ledger
from quotebook.ledger.recording import NotEnough
from quotebook.quoting.percentages import NUMBER
from quotebook.quoting.reissuing import Disputed
from quotebook.spreadsheets.filled_in import describe

DECISION_CELLS = ("decision", "accept", "because", "lost", "damaged")
MEANT = re.compile(r"(.+?)[,;]?\s+sure", re.IGNORECASE)
PAYMENT_CELLS = ("paid", "paid_on", "towards")

Cells = Mapping[str, CellValue]


@dataclass
class Decided:
    """What became of the decisions of one book."""

    outcomes: list[Outcome] = field(default_factory=list)
    left: dict[str, dict[str, CellValue]] = field(default_factory=dict)
    """What stays in the tinted cells, by quote and name of the column."""
    told: dict[str, str] = field(default_factory=dict)
    """What is said beside a decision that stays."""


def decide(
    desk: Desk, ledger: Ledger, card: RateCard, book: ReturnedBook, data: BookData, dry_run: bool = False
) -> Decided:
    """Carry out every decision in a book. `data` is how everything stands now, before any of them."""
    done = Decided()
    rows = {row.quote.quote_number: row for row in data.quotes}
    for quote_number, cells in sorted(book.decisions.items()):
        _Row(desk, ledger, card, book, rows[quote_number], cells, done, dry_run, data.today).carry_out()
    return done


@dataclass
class _Row:
    """The decisions of one row while they are carried out."""

    desk: Desk
    ledger: Ledger
    card: RateCard
    book: ReturnedBook
    row: QuoteRow
    cells: Cells
    done: Decided
    dry_run: bool
    today: date
    left: dict[str, CellValue] = field(default_factory=dict)
    """What stays in the cells, by the name of the column."""
    notable: bool = False
    """Whether something was done otherwise than the owner may think."""

    @property
    def number(self) -> str:
        return self.row.quote.quote_number

    def carry_out(self) -> None:
        """Carry out the decision and the payment, or leave their cells as they are and say why."""
        steps: list[tuple[tuple[str, ...], Callable[[], str]]] = [
            (DECISION_CELLS, self._decide),
            (PAYMENT_CELLS, self._pay),
        ]
        if self._decision == BILL:
            steps.reverse()  # a bill says what was paid, and is never changed
        if "notes" in self.cells:
            self.left["notes"] = self.cells["notes"]
        for names, step in steps:
            filled = {name: self.cells[name] for name in names if name in self.cells}
            if filled:
                try:
                    self._must_be_one_row()
                    said = step()
                    self.done.outcomes.append(Outcome(self.number, said, notable=self.notable))
                except QuotebookError as error:
                    self._leave(error, filled)
        if self.left:
            self.done.left[self.number] = self.left

    def _leave(self, error: QuotebookError, filled: Cells) -> None:
        said = " ".join(str(error).replace(f"{self._file()}: ", f"{self.number} ").split())
        said = said.replace("--accept ", "accept ").removeprefix(f"{self.number}: ")
        if isinstance(error, NotEnough):
            found = bookings.alternatives_for(self.desk, self.ledger, self._file(), self.number)
            said = " ".join([said, *say_alternatives(found)])
        if isinstance(error, Doubtful):
            said += f' If it is meant so, write "{self.cells.get("decision")}, sure".'
        if isinstance(error, NotAccepted):
            said = said.partition(" If the client")[0] + " If the client said yes otherwise, say how under Because."
        if isinstance(error, Disputed):
            said += f' Write "{ALL}", or the names of those that you accept, under Accept findings.'
        self.left |= filled
        self.done.told[self.number] = " ".join(filter(None, [self.done.told.get(self.number), said]))
        self.done.outcomes.append(Outcome(self.number, said, waits=True))

    def _must_be_one_row(self) -> None:
        if self.number in self.book.twice:
            raise Misuse(f"{self.number} has two rows with entries in the book: delete one of them.")

    @property
    def sure(self) -> bool:
        """Whether the owner says that a doubtful decision is meant so."""
        given = self.cells.get("decision")
        return isinstance(given, str) and MEANT.fullmatch(given.strip()) is not None

    @property
    def _decision(self) -> str | None:
        """The decision that is written in the row; None if it is none of DECISIONS."""
        given = self.cells.get("decision")
        if not isinstance(given, str):
            return None
        match = MEANT.fullmatch(given.strip())
        meant = match[1] if match else given.strip()
        return next((word for word in DECISIONS if same_text(word, meant)), None)

    def _decide(self) -> str:
        decision = self._decision
        if decision is None:
            given = self.cells.get("decision")
            raise Misuse(f"Decision: found {describe(given)}; allowed: {', '.join(DECISIONS)}")
        self._must_belong(decision)
        if self.dry_run:
            return f"{decision}: would be done"
        return {
            AGREE: self._agree, REISSUE: self._reissue, DECLINE: self._decline, CANCEL: self._cancel,
            DELIVERED: self._deliver, COUNTED_BACK: self._count_back, BILL: self._bill,
        }[decision]()  # fmt: skip

    def _must_belong(self, decision: str) -> None:
        """Raises Misuse for an entry that says nothing about this decision."""
        belongs = {
            AGREE: ("accept", "because"),
            REISSUE: ("accept",),
            DECLINE: ("because",),
            COUNTED_BACK: ("lost", "damaged"),
        }
        for name in DECISION_CELLS[1:]:
            if name in self.cells and name not in belongs.get(decision, ()):
                raise Misuse(f"{name.capitalize()} does not go with the decision {decision}: clear it")

    def _file(self) -> Path:
        """The file that a decision is about: the answer that counts, or the quote as issued where none came back."""
        if self.row.latest:
            return returned_path(self.desk, self.row.latest.sha256)
        return self.desk.issued_path(self.number, self.row.quote.revision)

    def _must_be_as_shown(self) -> None:
        """Raises Misuse if the quote or its answer is another by now than when the book was written."""
        if self.book.edition.bases[self.number] != self.row.basis:
            raise Misuse(f"{self.number} has a new revision or another answer since: look at it, and decide again")

    def _accepted(self, looks: bool = False) -> tuple[str, ...]:
        """The findings that the owner accepts by name; with `looks`, "all" has those about the look of the file too."""
        text = self.cells.get("accept")
        if isinstance(text, str) and same_text(text, ALL):
            answer = self.row.latest
            return answer.references + (answer.looks if looks else ()) if answer else ()
        return tuple(part.strip() for part in re.split(r"[;,\n]", str(text or "")) if part.strip())

    def _agree(self) -> str:
        self._must_be_as_shown()
        accepted, said_yes = self._accepted(looks=True), str(self.cells.get("because") or "")
        agreement = bookings.agree(
            self.desk, self.ledger, self.card, self._file(), accepted, said_yes, self.today, self.sure
        )
        quote = agreement.quote
        held = f"held from {quote.held_from} to {quote.held_to}"
        if not agreement.accepted:
            return f"agreed, {held}"
        self.notable = True
        total = local_for(self.card.firm).amount(in_major_units(quote.total, quote.minor_units))
        return f"agreed at the rates as issued: {total} {quote.currency}, whatever was accepted; {held}"

    def _reissue(self) -> str:
        self._must_be_as_shown()
        done = bookings.reissue_and_record(self.desk, self.ledger, self._file(), self._accepted())
        what = f"reissued: {done.path.name}"
        if not done.accepted:
            return what
        self.notable = True
        total = local_for(self.card.firm).amount(amount_of(done.content, "total"))
        return f"{what}: {total} {self.row.quote.currency}; what was accepted is not in it"

    def _decline(self) -> str:
        bookings.decline(self.desk, self.ledger, self.number, str(self.cells.get("because") or ""))
        return "declined"

    def _cancel(self) -> str:
        bookings.cancel(self.desk, self.ledger, self.number)
        return "cancelled"

    def _deliver(self) -> str:
        bookings.deliver(self.desk, self.ledger, self.number, self.today, self.sure)
        return "delivered"

    def _count_back(self) -> str:
        losses = bookings.losses_of(self.card, *(pieces(self.cells.get(name), name) for name in ("damaged", "lost")))
        bookings.count_back(self.desk, self.ledger, self.number, losses, self.today, self.sure)
        return "counted back" + "".join(f", {loss.item}: {loss.damaged} damaged, {loss.lost} lost" for loss in losses)

    def _bill(self) -> str:
        if not self.left.keys().isdisjoint(PAYMENT_CELLS):
            raise Misuse("It is billed once that payment can be recorded: correct it, or clear its cells.")
        paper = bill(self.desk, self.ledger, self.card, self.number, self.today).paper
        total, due = (local_for(self.card.firm).amount(each) for each in (paper.figures.total, paper.figures.due))
        return f"billed as {paper.bill_number}: {total}, {due} of it still due"

    def _pay(self) -> str:
        amount, given, towards = (self.cells.get(name) for name in PAYMENT_CELLS)
        if isinstance(amount, str) and NUMBER.fullmatch(amount):
            amount = number(amount)
        if not isinstance(amount, Decimal):
            raise Misuse(f"Paid: found {describe(amount)}; allowed: an amount, below 0 for what went back")
        purpose = next((word for word in PURPOSES if isinstance(towards, str) and same_text(word, towards)), "")
        if towards is not None and not purpose:
            raise Misuse(f"Paid for: found {describe(towards)}; allowed: {' or '.join(PURPOSES)}, or nothing")
        paid_on = _day(given)
        if paid_on > self.today:
            raise Misuse(f"Paid on: found {paid_on}; allowed: a day up to today")
        local = local_for(self.card.firm)
        said = local.amount(money(amount, self.card.rates.minor_units))
        if self.dry_run:
            return f"paid {said}: would be recorded"
        new = pay(self.desk, self.ledger, self.number, amount, paid_on, purpose)
        return f"paid {said} on {local.day(paid_on)}" + ("" if new else ", which was recorded already")


def _day(given: CellValue) -> date:
    """The day in a cell. Raises Misuse."""
    if isinstance(given, Decimal) and is_day(given):
        return day_of(given)
    try:
        return date.fromisoformat(str(given))
    except ValueError:
        raise Misuse(f"Paid on: found {describe(given)}; allowed: a date") from None


PIECES = re.compile(
    r"(?:(?P<before>\d{1,6})\s*(?:x\s*)?(?P<named>\D.*)|(?P<name>.*?\S)\s*[:=]\s*(?P<after>\d{1,6}))", re.ASCII
)


def pieces(text: CellValue, name: str) -> list[tuple[str, int]]:
    """What is lost or damaged, by the name of the piece: `OAK-44: 2, 1 corners of OAK-44`. Raises Misuse."""
    found = []
    for part in filter(None, (each.strip() for each in re.split(r"[;,\n]", str(text or "")))):
        match = PIECES.fullmatch(part)
        if not match:
            raise Misuse(f'{name.capitalize()}: found "{part}"; allowed: OAK-44: 2, corners/OAK-44: 1')
        what, _, code = (match["named"] or match["name"]).strip().rpartition(" of ")
        if what in ("panels", "sheets"):
            what = ""
        found.append((f"{what.replace(' ', '_')}/{code}" if what else code, int(match["before"] or match["after"])))
    return found
