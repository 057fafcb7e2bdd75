"""The events that a ledger records, as values and as JSON: those in a quote's life, and those of the stock.

The JSON of an event has everything about it except the quote's figures. Those are in the workbook
that the event names, by number and revision and by SHA-256.
"""

from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, ClassVar

from quotebook.engine.model import Firm
from quotebook.engine.stock import Item
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
class _EventOfStock:
    at: str
    quote_number: ClassVar[str] = ""
    revision: ClassVar[int] = 0


@dataclass(frozen=True, kw_only=True)
class Issued(_EventWithFigures):
    """A revision was issued; `sha256` is the digest of its workbook, empty in a ledger that did not keep it yet.

    The last day on which it stands (ISO 8601), and its days for the deposit after the issue and for the balance before
    the event, are as the workbook says, whatever the rate card says later; an older ledger has none of them.
    `options` has the letters of the options that it offers, and `picked` that of the one that was picked; both are
    empty for a quote without options.
    """

    sha256: str = ""
    valid_until: str = ""
    deposit_days: int | None = None
    balance_days: int | None = None
    options: str = ""
    picked: str = ""


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
    said_yes: str = ""
    """How the client said yes, in the owner's words; empty where the returned file itself says it."""
    picked: str = ""
    """The letter of the option that was agreed; empty for a quote without options."""


@dataclass(frozen=True, kw_only=True)
class Delivered(_EventWithoutFigures):
    """The agreed floors went out."""


@dataclass(frozen=True, kw_only=True)
class CountedBack(_EventWithoutFigures):
    """Everything that went out came back, except `losses`. A later count takes the place of an earlier one."""

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


@dataclass(frozen=True, kw_only=True)
class Billed(_EventWithoutFigures):
    """A bill was written, or a credit note that takes a bill back. Amounts are in whole minor units of `currency`."""

    bill_number: str
    billed_on: str
    """The day (ISO 8601); so is `due_on`."""
    due_on: str
    currency: str
    total: int
    """With its tax; less than 0 on a credit note."""
    taxes: tuple[tuple[str, int, int], ...]
    """For each rate of tax, as a share: the rate, what the items that bear it come to, and the tax."""
    prices_with_tax: bool
    """Whether what the items come to has their tax in it."""
    sha256: str
    """Of the workbook."""
    corrects: str = ""
    """The number of the bill that a credit note takes back; empty on a bill."""
    because: str = ""


@dataclass(frozen=True, kw_only=True)
class Undone(_EventWithoutFigures):
    """The last thing recorded of a quote was taken back: the event of this name that was recorded at `undone_at`."""

    undone_event: str
    undone_at: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Repaired(_EventOfStock):
    """Pieces that were missing were repaired or replaced, and can be hired out from `day` on."""

    item: Item
    pieces: int
    day: date


@dataclass(frozen=True, kw_only=True)
class Recounted(_EventOfStock):
    """On `day` the firm had `counted` pieces, with those out on hire. The rate card said then that it owns `owned`.

    `still_held` more were not there, although no quote's end says so yet: they were counted back as lost or damaged
    by then, and count as away with the rest of their quote until its hold ends. An older ledger has none of them.
    """

    item: Item
    counted: int
    owned: int
    day: date
    still_held: int = 0


@dataclass(frozen=True, kw_only=True)
class Renamed(_EventOfStock):
    """The kind, or the subfloor, that was recorded as `old` until now is the one that the rate card calls `new`."""

    old: str
    new: str


Event = (
    Issued | Returned | Agreed | Delivered | CountedBack | Cancelled | Declined | Paid | Billed | Undone
    | Repaired | Recounted | Renamed
)  # fmt: skip
EVENTS: dict[str, type[Event]] = {
    "issued": Issued, "returned": Returned, "agreed": Agreed,
    "delivered": Delivered, "counted back": CountedBack, "cancelled": Cancelled,
    "declined": Declined, "paid": Paid, "billed": Billed, "undone": Undone,
    "repaired": Repaired, "recounted": Recounted, "renamed": Renamed,
}  # fmt: skip
"""Every event by the word for it in the ledger and on a slip, in the order in which they can happen."""
EVENT_NAMES = {kind: name for name, kind in EVENTS.items()}


def now() -> str:
    """The present moment in UTC, as events have it: ISO 8601 with microseconds."""
    return datetime.now(UTC).isoformat(timespec="microseconds")


def details_of(event: Event) -> Details:
    """An event as JSON, without the quote's figures."""
    details = {field.name: getattr(event, field.name) for field in fields(event) if field.name != "quote"}
    if "losses" in details:
        details["losses"] = [[*loss.item, loss.damaged, loss.lost] for loss in details["losses"]]
    if "day" in details:
        details["day"] = str(details["day"])
    if isinstance(event, _EventWithFigures):
        details |= {"currency": event.quote.currency, "turnaround_days": event.turnaround_days}
    return {"event": EVENT_NAMES[type(event)], "quote_number": event.quote_number, "revision": event.revision} | details


def event_of(details: Details, quote: QuoteRecord | None = None) -> Event:
    """The event that has these details and, for an event with figures, the figures `quote`.

    What else the details have, such as the event's place among the desk's, is left out.
    """
    kind = EVENTS[details["event"]]
    values = {field.name: details[field.name] for field in fields(kind) if field.name in details}
    if has_figures(details):
        values["quote"] = quote
    if "losses" in values:
        values["losses"] = losses_of(details)
    if "accepted" in values:
        values["accepted"] = tuple(values["accepted"])
    if "taxes" in values:
        values["taxes"] = tuple((rate, amount, tax) for rate, amount, tax in values["taxes"])
    if "item" in values:
        values |= {"item": Item(*values["item"]), "day": date.fromisoformat(values["day"])}
    return kind(**values)


def has_figures(details: Details) -> bool:
    """Whether an event with these details has a quote's figures."""
    return issubclass(EVENTS[details["event"]], _EventWithFigures)


def losses_of(details: Details) -> tuple[Loss, ...]:
    """What did not come back, by the details of a count."""
    return tuple(Loss(Item(what, code), *counts) for what, code, *counts in details["losses"])


def firm_at_event(details: Details, firm: Firm) -> Firm:
    """The firm with the currency and the turnaround that an event with figures was recorded with."""
    return replace(firm, currency=details["currency"], turnaround_days=Decimal(details["turnaround_days"]))
