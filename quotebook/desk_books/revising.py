"""Issues the next revision of a quote from its row in the request book, which the owner changed."""

from dataclasses import replace
from datetime import date

from quotebook.bookings.archive import record_issued
from quotebook.bookings.availability import rates_for
from quotebook.checking.check import returned_quote
from quotebook.client.draft import QuoteDraft
from quotebook.contract.stamped import amount_of
from quotebook.desk import Desk
from quotebook.engine.model import RateCard
from quotebook.engine.money import ZERO, money
from quotebook.ledger import Ledger
from quotebook.quoting.issuing import issue, issue_of
from quotebook.quoting.requests import Enquiry


def card_for(card: RateCard, enquiry: Enquiry) -> RateCard:
    """The card as it holds for one enquiry: in its language, and without tax for a client who is exempt."""
    firm = replace(card.firm, language=enquiry.language) if enquiry.language else card.firm
    rates = replace(card.rates, tax_rate=ZERO) if enquiry.tax_exempt else card.rates
    return replace(card, firm=firm, rates=rates)


def revise_and_record(desk: Desk, ledger: Ledger, card: RateCard, enquiry: Enquiry, number: str, today: date) -> int:
    """Write the next revision of a quote with the entries of its row, record it, and return its number.

    Its first sheet says which revision it follows, and the totals of both. Raises what `issue` and the ledger raise.
    """
    request, last = enquiry.request, desk.latest_revision(number)
    before = returned_quote(desk.issued_path(number, last), desk).content
    card_now = replace(card_for(card, enquiry), rates=rates_for(ledger, card_for(card, enquiry), request, number))
    draft = QuoteDraft(issue_of(card_now, request, number, today, last + 1))
    words: dict[str, str] = draft.words["changes"]
    totals = {
        "before": f"{money(amount_of(before, 'total'), int(card.rates.minor_units)):f}",
        "after": f"{draft.results['total']:f}",
        "currency": card.firm.currency,
    }
    changes = words["since"].format(revision=last), words["total"].format(**totals)
    path, _ = issue(desk, card_now, request, number, today, last + 1, changes)
    record_issued(desk, ledger, path, card)
    return last + 1
