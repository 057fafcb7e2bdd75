"""Issues the next revision of a quote from its row in the request book, which the owner changed."""

from datetime import date

from quotebook.bookings.archive import record_issued
from quotebook.bookings.availability import rates_for
from quotebook.checking.check import returned_quote
from quotebook.client.draft import QuoteDraft
from quotebook.contract.stamped import amount_of
from quotebook.desk import Desk
from quotebook.engine.model import RateCard, Request
from quotebook.engine.money import money
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.quoting.issuing import issue_of, write_and_read
from quotebook.quoting.promised import Promise, promised
from quotebook.quoting.requests import Enquiry


def revise_and_record(desk: Desk, ledger: Ledger, card: RateCard, enquiry: Enquiry, number: str, today: date) -> str:
    """Write the next revision of a quote with the entries of its row, and record it; says which rates it has.

    While the quote is valid, its rates, taxes and terms stand. The first sheet says which revision it follows, and the
    totals of both. Raises what `issue` and the ledger raise, and Misuse for a kind of panel that has no promised rate.
    """
    request, last = enquiry.request, desk.latest_revision(number)
    before = returned_quote(desk.issued_path(number, last), desk)
    asked = enquiry.card_from(card)
    promise = promised(before.content, before.issued_rates, asked, rates_for(ledger, asked, request, number), today)
    _must_have_rates(promise, request, number)
    draft = QuoteDraft(issue_of(promise.card, request, number, today, last + 1))
    words: dict[str, str] = draft.words["changes"]
    totals = {
        "before": f"{money(amount_of(before.content, 'total'), int(card.rates.minor_units)):f}",
        "after": f"{draft.results['total']:f}",
        "currency": card.firm.currency,
    }
    changes = words["since"].format(revision=last), words["total"].format(**totals)
    written = write_and_read(desk, promise.card, request, number, today, last + 1, changes)
    record_issued(desk, ledger, written.path, card, written.workbook)
    return promise.sentence


def _must_have_rates(promise: Promise, request: Request, number: str) -> None:
    for line in request.lines:
        if line.panel and promise.card.rates.kind(line.panel) is None:
            raise Misuse(f"{line.panel} has no rate among those that {number} promised: issue the row as a new quote")
