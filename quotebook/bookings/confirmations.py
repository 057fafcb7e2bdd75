"""Says what a command recorded: of which quote, client, event and date, and what is held or free."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from quotebook.bookings.corrections import TakenBack, There
from quotebook.bookings.decisions import Agreement, Counted, Recorded
from quotebook.contract.local import Local
from quotebook.engine.money import in_major_units
from quotebook.engine.stock import Item
from quotebook.ledger import Ledger
from quotebook.ledger.events import Loss
from quotebook.ledger.listing import ListedQuote
from quotebook.ledger.records import QuoteRecord


def say_quote(quote: QuoteRecord | ListedQuote, local: Local) -> str:
    """A quote by its number, revision, client, event and date; what is blank is left out."""
    return f"{quote.quote_number} revision {quote.revision}, {say_event(quote, local)}"


def say_event(quote: QuoteRecord | ListedQuote, local: Local) -> str:
    """A quote's client, event and date; what is blank is left out."""
    parts = (" ".join(quote.client.split()), " ".join(quote.event.split()), local.day(quote.event_date))
    return ", ".join(filter(None, parts))


def say_items(items: Mapping[Item, int]) -> str:
    """Counts of items, such as `20 panels of OAK-44, 2 carts`."""
    return ", ".join(f"{pieces} {item}" for item, pieces in items.items()) or "nothing"


def say_agreed(agreement: Agreement, ledger: Ledger, local: Local) -> Iterator[str]:
    """What was agreed, for how much, what is held from when to when, and what it takes the place of."""
    quote = agreement.quote
    for finding in agreement.accepted:
        yield f"  Accepted, at the rates as issued: {finding.message}"
    verb = "is agreed" if agreement.new else "was already agreed"
    total = local.amount(in_major_units(quote.total, quote.minor_units))
    yield f"{say_quote(quote, local)}: {verb}: {total} {quote.currency}."
    yield f"  Held {_from_to(quote, local)}: {say_items(ledger.items_now(quote))}."
    if before := agreement.replaced:
        total, day = local.amount(in_major_units(before.total, before.minor_units)), local.day(before.event_date)
        yield f"  It takes the place of revision {before.revision}: {total} {before.currency}, {day}."


def _from_to(quote: QuoteRecord, local: Local) -> str:
    return f"from {local.day(quote.held_from)} to {local.day(quote.held_to)}"


def say_cancelled(cancelled: Recorded, ledger: Ledger, local: Local) -> Iterator[str]:
    """What was cancelled, and what is free again."""
    quote = cancelled.quote
    yield f"{say_quote(quote, local)}: {'is' if cancelled.new else 'was already'} cancelled, and holds nothing."
    yield f"  Free again {_from_to(quote, local)}: {say_items(ledger.items_now(quote))}."


def say_delivered(delivered: Recorded, ledger: Ledger, local: Local) -> Iterator[str]:
    """What went out, and until when it is held."""
    quote = delivered.quote
    yield f"{say_quote(quote, local)}: {'is' if delivered.new else 'was already'} recorded as delivered."
    yield f"  Out until {local.day(quote.held_to)}: {say_items(ledger.items_now(quote))}."


def say_counted_back(counted: Counted, losses: Sequence[Loss], local: Local) -> Iterator[str]:
    """What came back, what did not, and how that differs from an earlier count."""
    yield f"{say_quote(counted.quote, local)}: {'is' if counted.new else 'was already'} counted back."
    for loss in losses:
        yield f"  {_say_loss(loss)}; they have left the stock."
    if not losses:
        yield "  Everything came back."
    if counted.new and counted.before is not None:
        before = ", ".join(map(_say_loss, sorted(counted.before, key=lambda loss: loss.item))) or "everything came back"
        yield f"  It takes the place of the earlier count: {before}."


def _say_loss(loss: Loss) -> str:
    return f"{loss.item}: {loss.damaged} damaged, {loss.lost} lost"


def say_taken_back(taken_back: TakenBack, local: Local) -> str:
    """What was taken back, and where the quote stands now."""
    event, quote = taken_back.event, taken_back.now
    done = f"{event['event']!r} of {local.day(date.fromisoformat(event['at'][:10]))}"
    return f"{say_quote(quote, local)}: {done} is taken back, and the quote is {quote.state!r} again."


def say_there(there: There, local: Local) -> str:
    """How many of an item there are, of how many owned."""
    return f"{there.item}: {there.there} from {local.day(there.day)} on; {there.owned} owned, {there.missing} missing."
