"""Reads what a season asks for: from the desk's ledger and workbooks, or from a list of requests."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from quotebook.bookings.archive import returned_path
from quotebook.bookings.jobs import job_of_file, signed_content
from quotebook.buying.demand import AGREED, LISTED, LOST, TYPICAL, Asked, typical_season
from quotebook.checking.findings import AGREES
from quotebook.contract.stamped import request_as_issued
from quotebook.desk import Desk
from quotebook.engine.model import RateCard, Request
from quotebook.engine.stock import Item
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.events import Details
from quotebook.ledger.life import life_of
from quotebook.ledger.listing import ListedQuote, of_days
from quotebook.ledger.states import BOOKED
from quotebook.ledger.stock_changes import Rename, order_of, renamed
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
    listed = ledger.listed(of_days(date(year, 1, 1), date(year, 12, 31)))
    quotes = {quote.quote_number: quote for quote in reversed(listed)}
    histories, renames, found = ledger.histories(quotes), ledger.renames(), []
    for number in sorted(quotes, key=lambda number: order_of(histories[number][0])):
        quote, events = quotes[number], histories[number]
        issued = {event["revision"]: event for event in events if event["event"] == "issued"}
        changed = _changed_file(events) if quote.state in BOOKED else None
        request = _as_played(_request(desk, quote, changed))
        request = _by_codes_of_now(request, renames, issued[quote.revision])
        gone = any(line.panel and card.rates.kind(line.panel) is None for line in request.lines)
        found.append(Asked(number, _playable(card, request), *_outcome(quote), gone))
    if not found:
        raise Misuse(
            f"{year}: the ledger has no request for that season. Name another (--season) or a list (--requests FILE); "
            "quotebook buy also plays the card's typical year (--typical)."
        )
    return found


def _request(desk: Desk, quote: ListedQuote, changed: str | None) -> Request:
    """What a quote is for: as its desk issued it, or by the returned file of digest `changed` that was agreed.

    What was issued is read from what is signed there, which is quicker than the whole workbook.
    """
    if changed:
        return job_of_file(desk, returned_path(desk, changed)).request
    content = signed_content(desk, quote.quote_number, quote.revision)
    if content is None:
        return job_of_file(desk, desk.issued_path(quote.quote_number, quote.revision)).request
    return request_as_issued(content)


def _by_codes_of_now(request: Request, renames: Sequence[Rename], issued: Details) -> Request:
    """The request by the codes that its kinds have on the card now; `issued` is the event that issued it."""
    codes = {
        line.panel: item.code
        for line in request.lines
        for item in renamed({Item("panels", line.panel): 1}, renames, issued)
    }
    return replace(request, lines=tuple(replace(line, panel=codes[line.panel]) for line in request.lines))


def _changed_file(events: Sequence[Details]) -> str | None:
    """The digest of the file that was agreed, by a quote's events; None if nothing in it differed from its issue."""
    agreement = life_of(events).holding
    unchanged = {
        event["sha256"]
        for event in events
        if event["event"] == "issued" or (event["event"] == "returned" and event["verdict"] == AGREES)
    }
    return agreement.sha256 if agreement and agreement.sha256 not in unchanged else None


def _outcome(quote: ListedQuote) -> tuple[str, str]:
    """What became of a request, and why it was lost: the reason that the owner gave, or what its state says."""
    if quote.state in BOOKED:
        return AGREED, ""
    return LOST, quote.because or WHY_LOST.get(quote.state, quote.state)


def _as_played(request: Request) -> Request:
    """The request without the lines of options that are not picked; the first option counts as picked where none is."""
    picked = request.with_pick(request.options[0]) if request.needs_pick else request
    return picked.as_picked()


def _playable(card: RateCard, request: Request) -> Request:
    """The request without blank lines, and with the card's first kind for those that the card no longer has.

    Any kind may serve it. Of options it has the one that is picked, or the first where nobody picked one.
    """
    lines = tuple(
        line if card.rates.kind(line.panel) else replace(line, panel=card.rates.kinds[0].panel)
        for line in _as_played(request).lines
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
