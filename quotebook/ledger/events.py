"""What happens to a quote, as values; and as slips, the small signed files that the desk keeps of them.

A slip has everything about an event but the quote's figures, which are in the workbook it names by
number and revision or by SHA-256: workbooks and slips together make a ledger again.
"""

import hmac
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from decimal import Decimal

from quotebook.engine.model import Firm
from quotebook.engine.stock import Item
from quotebook.errors import Unreadable
from quotebook.ledger.records import QuoteRecord


@dataclass(frozen=True)
class Loss:
    """Pieces of one item that did not come back fit for hire."""

    item: Item
    damaged: int = 0
    lost: int = 0


@dataclass(frozen=True, kw_only=True)
class _OfFigures:
    at: str
    """The moment, in UTC (ISO 8601), as `now` gives it. So for every event."""
    quote: QuoteRecord

    @property
    def quote_number(self) -> str:
        return self.quote.quote_number

    @property
    def revision(self) -> int:
        return self.quote.revision

    @property
    def turnaround_days(self) -> int:
        """With the currency, what a workbook does not say and the rate card may say otherwise by now."""
        return (self.quote.held_to - self.quote.event_date).days - self.quote.days + 1


@dataclass(frozen=True, kw_only=True)
class _OfQuote:
    at: str
    quote_number: str
    revision: int


@dataclass(frozen=True, kw_only=True)
class Issued(_OfFigures):
    """A revision went out."""


@dataclass(frozen=True, kw_only=True)
class Returned(_OfQuote):
    """A file came back and was checked."""

    sha256: str
    verdict: str
    findings: int


@dataclass(frozen=True, kw_only=True)
class Agreed(_OfFigures):
    """A file was agreed, whose figures are `quote`."""

    sha256: str
    accepted: tuple[str, ...] = ()
    """Findings that the owner accepted, by name."""


@dataclass(frozen=True, kw_only=True)
class Delivered(_OfQuote):
    """What was agreed went out."""


@dataclass(frozen=True, kw_only=True)
class CountedBack(_OfQuote):
    """What went out came back, all but `losses`."""

    losses: tuple[Loss, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Cancelled(_OfQuote):
    """What was agreed is off."""


Event = Issued | Returned | Agreed | Delivered | CountedBack | Cancelled
EVENTS = {
    "issued": Issued, "returned": Returned, "agreed": Agreed,
    "delivered": Delivered, "counted back": CountedBack, "cancelled": Cancelled,
}  # fmt: skip
"""By the word that the ledger and a slip use, in the order in which they can happen."""
NAMES = {kind: name for name, kind in EVENTS.items()}


def now() -> str:
    """This moment, as events give it."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def in_order(events: Iterable[Event]) -> list[Event]:
    """As they happened."""
    order = list(NAMES)
    return sorted(events, key=lambda event: (event.at, order.index(type(event))))


def details(event: Event) -> dict:
    """An event as JSON, without the quote's figures."""
    values = {field.name: getattr(event, field.name) for field in fields(event) if field.name != "quote"}
    if "losses" in values:
        values["losses"] = [[*loss.item, loss.damaged, loss.lost] for loss in values["losses"]]
    if isinstance(event, _OfFigures):
        values |= {"currency": event.quote.currency, "turnaround_days": event.turnaround_days}
    return {"event": NAMES[type(event)], "quote_number": event.quote_number, "revision": event.revision} | values


def event_of(details: Mapping, quote: QuoteRecord | None = None) -> Event:
    """The event again: from its details and, for one that has figures, those of its workbook."""
    values = dict(details)
    kind = EVENTS[values.pop("event")]
    if issubclass(kind, _OfFigures):
        for name in ("quote_number", "revision", "currency", "turnaround_days"):
            del values[name]
        values["quote"] = quote
    if "losses" in values:
        values["losses"] = tuple(Loss(Item(what, code), *counts) for what, code, *counts in values["losses"])
    if "accepted" in values:
        values["accepted"] = tuple(values["accepted"])
    return kind(**values)


def firm_then(details: Mapping, firm: Firm) -> Firm:
    """The firm as it was at an event with figures: to make its record from its workbook with."""
    return replace(firm, currency=details["currency"], turnaround_days=Decimal(details["turnaround_days"]))


def slip(details: Mapping, key: bytes) -> str:
    """The text of an event's slip: a line of its details, and their signature under the desk's key."""
    line = json.dumps(details)
    return f"{line}\n{_signature(line, key)}\n"


def slip_name(details: Mapping) -> str:
    """A file name that no other event's slip has."""
    moment = details["at"].replace("-", "").replace(":", "").replace("+0000", "Z")
    return f"{details['quote_number']}-r{details['revision']}.{moment}.{details['event'].replace(' ', '-')}.json"


def read_slip(text: str, key: bytes) -> dict:
    """The details on a slip. Raises Unreadable where its signature does not hold under the desk's key."""
    line, _, signature = text.partition("\n")
    if not hmac.compare_digest(_signature(line, key).encode(), signature.strip().encode()):
        raise Unreadable("a slip is not as this desk wrote it: its signature does not hold. Put back your copy of it.")
    return json.loads(line)


def _signature(line: str, key: bytes) -> str:
    return hmac.new(key, line.encode(), "sha256").hexdigest()
