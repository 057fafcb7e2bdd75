"""Reads what a season asks for: from the desk's ledger and workbooks, or from a list of requests."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from quotebook.bookings.archive import returned_path
from quotebook.bookings.jobs import job_of_file
from quotebook.buying.demand import AGREED, LISTED, LOST, TYPICAL, Asked, typical_season
from quotebook.desk import Desk
from quotebook.engine.model import RateCard, Request
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.listing import ListedQuote
from quotebook.ledger.states import BOOKED
from quotebook.quoting.request_rows import read_requests

WHY_LOST = {
    "issued": "no answer recorded",
    "returned": "came back, not agreed",
    "cancelled": "cancelled",
    "declined": "declined, no reason given",
}
"""Why a quote was lost, by its state."""


def requests_of_desk(desk: Desk, ledger: Ledger, card: RateCard, year: int) -> list[Asked]:
    """Every request of a year for which a quote was issued, in the order in which the quotes were.

    An agreed quote counts as it was agreed, any other as its last revision was issued. Raises Misuse for a year
    without requests, and what reading a workbook raises.
    """
    found = [
        Asked(quote.quote_number, _playable(card, request), *_outcome(quote), _asks_for_kinds_gone(card, request))
        for quote in _in_order(ledger)
        if quote.event_date.year == year
        for request in [job_of_file(desk, _path(desk, ledger, quote)).request]
    ]
    if not found:
        raise Misuse(
            f"{year}: the ledger has no request for that season. Name another (--season) or a list (--requests FILE); "
            "quotebook buy also plays the card's typical year (--typical)."
        )
    return found


def _asks_for_kinds_gone(card: RateCard, request: Request) -> bool:
    return any(line.panel and card.rates.kind(line.panel) is None for line in request.lines)


def _in_order(ledger: Ledger) -> list[ListedQuote]:
    """Every quote, in the order in which the first revisions were issued; an agreed revision before an open one."""
    numbers = dict.fromkeys(event["quote_number"] for event in ledger.history() if event["event"] == "issued")
    quotes: dict[str, ListedQuote] = {}
    for quote in ledger.listed():
        quotes.setdefault(quote.quote_number, quote)
    return [quotes[number] for number in numbers if number in quotes]


def _outcome(quote: ListedQuote) -> tuple[str, str]:
    """What became of a request, and why it was lost: the reason that the owner gave, or what its state says."""
    if quote.state in BOOKED:
        return AGREED, ""
    return LOST, quote.because or WHY_LOST.get(quote.state, quote.state)


def _path(desk: Desk, ledger: Ledger, quote: ListedQuote) -> Path:
    agreement = ledger.life(quote.quote_number).holding
    if agreement and quote.state in BOOKED:
        return returned_path(desk, agreement.sha256)
    return desk.issued_path(quote.quote_number, quote.revision)


def _playable(card: RateCard, request: Request) -> Request:
    """The request without blank lines, and with the card's first kind for those that the card no longer has.

    Any kind may serve it.
    """
    lines = tuple(
        line if card.rates.kind(line.panel) else replace(line, panel=card.rates.kinds[0].panel)
        for line in request.lines
        if line.panel
    )
    return replace(request, lines=lines)


def requests_of_list(path: Path, card: RateCard, year: int | None) -> list[Asked]:
    """The requests in a list, in the order of its rows; those of one year if one is named.

    Raises Misuse for a list without any, and what `read_requests` raises.
    """
    found = [
        Asked(f"request {number}", _playable(card, enquiry.request), LISTED)
        for number, enquiry in enumerate(read_requests(path, card), 1)
        if year is None or (enquiry.request.event_date and enquiry.request.event_date.year == year)
    ]
    if not found:
        raise Misuse(f"{path}: has no request of {year}. Name another season, or none for the whole list.")
    return found


def requests_of_typical_year(card: RateCard, year: int) -> list[Asked]:
    """The floors of the card's sheet Typical year. Raises Misuse if it has none."""
    found = [*typical_season(card, year)]
    if not found:
        raise Misuse("The rate card's sheet Typical year has no floor with requests. Enter some there.")
    return found


def counted(season: list[Asked]) -> Iterator[str]:
    """How many requests of each outcome a season has, in words."""
    for outcome, words in ((AGREED, "agreed"), (LOST, "not agreed"), (LISTED, "listed"), (TYPICAL, "typical")):
        count = sum(asked.outcome == outcome for asked in season)
        if count:
            yield f"{count} {words}"
