"""What an owner does with a quote at a desk, together with the ledger's record of it.

The workbook comes first and the record second: a workbook that a crash left unrecorded is still
there to be recorded, a record without its workbook would be of nothing.
"""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from quotebook.bookings.archive import record_event, record_issued, record_of_quote
from quotebook.bookings.availability import Fit, fit, rates_for
from quotebook.bookings.jobs import job_of_file
from quotebook.bookings.receiving import record_returned
from quotebook.checking.check import checked_quote, no_telling
from quotebook.checking.findings import Finding
from quotebook.contract.stamp import Content
from quotebook.desk import Desk
from quotebook.engine.model import RateCard, Rates, Request
from quotebook.engine.price import price
from quotebook.engine.stock import Item, owned
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Loss, now
from quotebook.ledger.records import QuoteRecord, taken_by
from quotebook.quoting.issuing import issue
from quotebook.quoting.reissuing import Reissued, accepted_findings, reissue


def issue_and_record(
    desk: Desk, ledger: Ledger, card: RateCard, request: Request, number: str, today: date
) -> tuple[Path, Content]:
    """Issues a quote that knows what is free now; raises what `issue` and the ledger raise."""
    card_now = replace(card, rates=rates_for(ledger, card, request))
    path, content = issue(desk, card_now, request, number, today)
    record_issued(desk, ledger, path, card)
    return path, content


def numbers(desk: Desk, ledger: Ledger) -> Iterator[str]:
    """Free quote numbers, taken at this desk as they are given out, that no other desk of the ledger has used."""
    return (number for number in desk.numbers() if ledger.issued(number, 1) is None)


def reissue_and_record(desk: Desk, ledger: Ledger, path: Path, **how) -> Reissued:
    """Writes the next revision from a returned file, and records both.

    Raises what `reissue` raises, and Misuse where the card is in another currency than the quote.
    """

    def rates_now(card: RateCard, request: Request, number: str) -> Rates:
        issued = ledger.issued(number, 1)
        if issued and issued.currency != card.firm.currency:
            raise Misuse(
                f"{number} is in {issued.currency}, the rate card in {card.firm.currency} now: issue a new quote."
            )
        return rates_for(ledger, card, request, number)

    done = reissue(desk, path, rates_now=rates_now, **how)
    record_returned(desk, ledger, path, done.report)
    record_issued(desk, ledger, done.path, desk.card())
    return done


@dataclass(frozen=True)
class Agreement:
    """A quote that was agreed."""

    quote: QuoteRecord
    accepted: tuple[Finding, ...]
    """Disputed findings that were let pass: the price is that of the returned entries at the issued rates."""
    new: bool
    """False where the same file was agreed already."""


def agree(
    desk: Desk, ledger: Ledger, card: RateCard, path: Path, accept: Collection[str] = (), today: date | None = None
) -> Agreement:
    """Agrees a returned file, and holds all that it takes.

    The price is at the rates and in the currency of the issue; what is held is held for the card's
    turnaround of today. Raises what `reissuing.accepted_findings` raises for a file that is disputed or
    no quote; `ledger.recording.NotEnough`, with nothing agreed, where something is not free; and Misuse where
    the card no longer says how many there are of something.
    """
    report, comparison = checked_quote(path, desk, today)
    accepted = accepted_findings(path, report, accept)
    if comparison is None:
        raise no_telling(path, report.findings)
    quote = record_of_quote(comparison, card.firm)
    if gone := [item for item in taken_by(quote) if item not in owned(card)]:
        raise Misuse(
            f"{quote.quote_number}: {gone[0]} are no longer on the rate card. Put them back, or issue it anew."
        )
    digest = record_returned(desk, ledger, path, report)
    quote = replace(quote, currency=ledger.issued(report.quote, report.revision).currency)
    names = tuple(finding.reference for finding in accepted)
    event = Agreed(at=now(), quote=quote, sha256=digest, accepted=names)
    return Agreement(quote, accepted, record_event(desk, ledger, event, owned(card)))


def alternatives_for(desk: Desk, ledger: Ledger, path: Path, number: str) -> Fit:
    """What is short for the entries in a file of that quote, and what would do instead."""
    card, request = desk.card(), job_of_file(desk, path).request
    return fit(ledger, card, request, price(card.rates, request), number)


def deliver(desk: Desk, ledger: Ledger, number: str) -> bool:
    """Records that what was agreed went out; False where it is recorded already. Raises Misuse."""
    return record_event(desk, ledger, Delivered(at=now(), **_agreed(ledger, number)))


def cancel(desk: Desk, ledger: Ledger, number: str) -> bool:
    """Records that what was agreed is off, which frees all that it held; likewise."""
    return record_event(desk, ledger, Cancelled(at=now(), **_agreed(ledger, number)))


def count_back(desk: Desk, ledger: Ledger, number: str, losses: Iterable[Loss]) -> bool:
    """Records that what went out came back, all but the losses; likewise."""
    return record_event(desk, ledger, CountedBack(at=now(), losses=tuple(losses), **_agreed(ledger, number)))


def _agreed(ledger: Ledger, number: str) -> dict:
    standing = ledger.standing(number)
    if standing is None:
        raise Misuse(f"{number} is not agreed: agree its file first (quotebook agree FILE).")
    return {"quote_number": number, "revision": standing.quote.revision}


def losses_of(card: RateCard, damaged: Iterable[tuple[str, int]], lost: Iterable[tuple[str, int]]) -> list[Loss]:
    """Losses from what was counted: an item's name and how many. Raises Misuse for what the card does not count."""
    counts: dict[Item, list[int]] = {}
    for place, counted in enumerate((damaged, lost)):
        for name, count in counted:
            counts.setdefault(_item(card, name), [0, 0])[place] += count
    return [Loss(item, *both) for item, both in counts.items()]


def _item(card: RateCard, name: str) -> Item:
    """`OAK-44` is a panel, `PLY-48` a sheet, `corners/OAK-44` whatever else is counted of a kind."""
    known = {f"{item.what}/{item.code}" if item.code else item.what: item for item in owned(card)}
    short = {item.code: item for item in owned(card) if item.what in ("panels", "sheets")}
    item = (short | known).get(name)
    if item is None:
        raise Misuse(f"{name} is not counted on the rate card; allowed: {', '.join((*short, *known))}.")
    return item
