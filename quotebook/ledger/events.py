"""The events in a quote's life: as values, as JSON, and as slips, the small signed files that a desk keeps.

A slip has everything about an event except the quote's figures. Those are in the workbook that the
slip names, by number and revision or by SHA-256: a ledger can be rebuilt from workbooks and slips.
"""

import hmac
import json
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

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


Details = dict[str, Any]
"""An event as JSON: texts, whole numbers and lists of them, by name."""


@dataclass(frozen=True, kw_only=True)
class _EventWithFigures:
    at: str
    """The moment in UTC (ISO 8601), as `now` writes it; of every other event too."""
    quote: QuoteRecord

    @property
    def quote_number(self) -> str:
        return self.quote.quote_number

    @property
    def revision(self) -> int:
        return self.quote.revision

    @property
    def turnaround_days(self) -> int:
        """Kept with the event, like the currency: the workbook does not have them, and the rate card may change."""
        return (self.quote.held_to - self.quote.event_date).days - self.quote.days + 1


@dataclass(frozen=True, kw_only=True)
class _EventWithoutFigures:
    at: str
    quote_number: str
    revision: int


@dataclass(frozen=True, kw_only=True)
class Issued(_EventWithFigures):
    """A revision was issued."""


@dataclass(frozen=True, kw_only=True)
class Returned(_EventWithoutFigures):
    """A file came back and was checked."""

    sha256: str
    verdict: str
    findings: int


@dataclass(frozen=True, kw_only=True)
class Agreed(_EventWithFigures):
    """A returned file was agreed; `quote` has its figures and `sha256` is its digest."""

    sha256: str
    accepted: tuple[str, ...] = ()
    """References of the findings that the owner accepted, such as `rate-changed:hourly_rate`."""


@dataclass(frozen=True, kw_only=True)
class Delivered(_EventWithoutFigures):
    """The agreed floors went out."""


@dataclass(frozen=True, kw_only=True)
class CountedBack(_EventWithoutFigures):
    """Everything that went out came back, except `losses`."""

    losses: tuple[Loss, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Cancelled(_EventWithoutFigures):
    """An agreed quote was called off."""


@dataclass(frozen=True, kw_only=True)
class Declined(_EventWithoutFigures):
    """The client said no, or never answered: the enquiry is closed."""

    because: str = ""
    """The reason in the owner's words; empty if none was given."""


@dataclass(frozen=True, kw_only=True)
class Paid(_EventWithoutFigures):
    """Money came in for a quote, or went back to its client."""

    paid_on: str
    """The day (ISO 8601)."""
    amount: int
    """In whole minor units of `currency`; less than 0 for money that went back."""
    currency: str
    towards: str
    """One of `engine.dues.PURPOSES`."""
    repeat: int = 0
    """0 for the first payment of that amount, day and purpose, 1 for a second one that is alike, and so on."""


Event = Issued | Returned | Agreed | Delivered | CountedBack | Cancelled | Declined | Paid
EVENTS = {
    "issued": Issued, "returned": Returned, "agreed": Agreed,
    "delivered": Delivered, "counted back": CountedBack, "cancelled": Cancelled,
    "declined": Declined, "paid": Paid,
}  # fmt: skip
"""Every event by the word for it in the ledger and on a slip, in the order in which they can happen."""
EVENT_NAMES = {kind: name for name, kind in EVENTS.items()}


def now() -> str:
    """The present moment in UTC, as events have it: ISO 8601 with microseconds."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def sort_events(events: Iterable[Event]) -> list[Event]:
    """Events in the order in which they happened; those of one moment in the order in which they can happen."""
    order = list(EVENT_NAMES)
    return sorted(events, key=lambda event: (event.at, order.index(type(event))))


def details_of(event: Event) -> Details:
    """An event as JSON, without the quote's figures."""
    details = {field.name: getattr(event, field.name) for field in fields(event) if field.name != "quote"}
    if "losses" in details:
        details["losses"] = [[*loss.item, loss.damaged, loss.lost] for loss in details["losses"]]
    if isinstance(event, _EventWithFigures):
        details |= {"currency": event.quote.currency, "turnaround_days": event.turnaround_days}
    return {"event": EVENT_NAMES[type(event)], "quote_number": event.quote_number, "revision": event.revision} | details


def event_of(details: Details, quote: QuoteRecord | None = None) -> Event:
    """The event that has these details and, for an event with figures, the figures `quote`."""
    values = dict(details)
    kind = EVENTS[values.pop("event")]
    if issubclass(kind, _EventWithFigures):
        for name in ("quote_number", "revision", "currency", "turnaround_days"):
            del values[name]
        values["quote"] = quote
    if "losses" in values:
        values["losses"] = tuple(Loss(Item(what, code), *counts) for what, code, *counts in values["losses"])
    if "accepted" in values:
        values["accepted"] = tuple(values["accepted"])
    event: Event = kind(**values)
    return event


def firm_at_event(details: Details, firm: Firm) -> Firm:
    """The firm with the currency and the turnaround that an event with figures was recorded with."""
    return replace(firm, currency=details["currency"], turnaround_days=Decimal(details["turnaround_days"]))


def write_slip(details: Details, key: bytes) -> str:
    """The text of an event's slip: a line with its details, and a line with their signature under the desk's key."""
    line = json.dumps(details)
    return f"{line}\n{_signature(line, key)}\n"


def name_slip(details: Details) -> str:
    """The file name of an event's slip: number, revision, moment and event, which no other slip shares."""
    moment = details["at"].replace("-", "").replace(":", "").replace("+0000", "Z")
    return f"{details['quote_number']}-r{details['revision']}.{moment}.{details['event'].replace(' ', '-')}.json"


def read_slip(text: str, key: bytes) -> Details:
    """The details on a slip. Raises Unreadable if its signature does not match under the desk's key."""
    line, _, signature = text.partition("\n")
    if not hmac.compare_digest(_signature(line, key).encode(), signature.strip().encode()):
        raise Unreadable("the slip was changed after this desk signed it. Put back your copy of it.")
    details: Details = json.loads(line)
    return details


def _signature(line: str, key: bytes) -> str:
    return hmac.new(key, line.encode(), "sha256").hexdigest()
