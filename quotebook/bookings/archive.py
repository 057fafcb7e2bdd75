"""Keeps what a desk's ledger can be rebuilt from: every workbook, and a signed slip of every event.

`issued/` has the quotes as they were issued, `returned/` the files that came back, named by their
SHA-256, and `slips/` what happened when. Slips follow the ledger: after each event every slip that a
quote lacks is written, so a slip that a crash prevented is written after the next event.
"""

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from quotebook.checking.check import returned_quote
from quotebook.checking.comparison import Comparison
from quotebook.contract.stamped import papers_of
from quotebook.contract.values import request_of
from quotebook.desk import Desk
from quotebook.engine.model import Firm, RateCard
from quotebook.engine.stock import Item
from quotebook.errors import Misuse, Unreadable
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger, ledger_url
from quotebook.ledger.events import (
    Agreed,
    Details,
    Event,
    Issued,
    event_of,
    firm_at_event,
    name_slip,
    now,
    read_slip,
    sort_events,
    write_slip,
)
from quotebook.ledger.recording import NumberTaken
from quotebook.ledger.records import QuoteRecord, record_of


def open_ledger(desk: Desk) -> Ledger:
    """The desk's ledger, or the one that QUOTEBOOK_LEDGER names; created if the desk has recorded nothing yet.

    Raises Misuse if the desk has slips but the ledger is missing or empty, since an empty ledger would
    treat everything as free.
    """
    if has_slips(desk) and not (has_ledger(desk.folder) and Ledger(ledger_url(desk.folder)).has_entries()):
        raise Misuse(f"{desk.folder}: its ledger is missing. Put back your copy, or re-create it: quotebook rebuild.")
    return Ledger(ledger_url(desk.folder))


def keep_returned(desk: Desk, path: Path) -> str:
    """Keep one copy of a file that came back, named by its SHA-256; returns the SHA-256."""
    content = path.read_bytes()
    digest = digest_of(content)
    _put(returned_path(desk, digest), content)
    return digest


def digest_of(content: bytes) -> str:
    """The SHA-256 of a file's content, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def record_event(desk: Desk, ledger: Ledger, event: Event, owned: Mapping[Item, int] | None = None) -> bool:
    """Record an event, and keep its slip; False if it was recorded already.

    An Agreed is recorded only if what it takes is free out of `owned`. Raises what the ledger raises.
    """
    new = ledger.agree(event, owned or {}) if isinstance(event, Agreed) else ledger.record(event)
    keep_slips(desk, ledger, event.quote_number)
    return new


def keep_slips(desk: Desk, ledger: Ledger, quote_number: str | None = None) -> None:
    """Write every missing slip, of one quote or of every quote that this desk issued."""
    key = desk.key()
    for details in ledger.history(quote_number):
        path = _slips(desk) / name_slip(details)
        if not path.exists() and desk.issued_path(details["quote_number"], details["revision"]).exists():
            _put(path, write_slip(details, key).encode())


def record_issued(desk: Desk, ledger: Ledger, path: Path, card: RateCard) -> None:
    """Record the workbook at `path` as issued. Raises NumberTaken if another desk used its number meanwhile.

    In that case the workbook is removed again. The figures are read back from the file, since a
    rebuilt ledger would have those.
    """
    try:
        record_event(desk, ledger, Issued(at=now(), quote=record_of_file(desk, path, card.firm)))
    except NumberTaken:
        path.unlink()
        raise


def record_of_file(desk: Desk, path: Path, firm: Firm) -> QuoteRecord:
    """The record of a file: its entries, priced at the rates it was issued with. Raises Misuse and Unreadable."""
    return record_of_comparison(returned_quote(path, desk), firm)


def record_of_comparison(comparison: Comparison, firm: Firm) -> QuoteRecord:
    """The record of a file that was read already: its entries, priced at the rates it was issued with.

    Raises Misuse if the entries have no date or no days.
    """
    content = comparison.content
    request = request_of(comparison.entries, content.owner)
    return record_of(papers_of(content), request, comparison.expected, comparison.issued_rates, firm)


def rebuild(desk: Desk, ledger: Ledger) -> int:
    """Fill an empty ledger from what the desk keeps; returns the number of events. After any error it stays empty."""
    events = sort_events(kept_events(desk, desk.card().firm))
    ledger.rebuild(events)
    return len(events)


def kept_events(desk: Desk, firm: Firm) -> Iterator[Event]:
    """Every event on the desk's slips, and an Issued for every quote in `issued/` without a slip.

    Such a quote counts as issued at the start of its day, with the turnaround and the currency of
    `firm`. Raises Unreadable for a slip that was altered or whose workbook is missing.
    """
    key = desk.key()
    issued: set[tuple[str, int]] = set()
    for path in sorted(_slips(desk).glob("*.json")):
        try:
            details = read_slip(path.read_text("utf-8"), key)
        except Unreadable as error:
            raise Unreadable(f"{path}: {error}") from None
        event = _event(desk, path, details, firm)
        if isinstance(event, Issued):
            issued.add((event.quote_number, event.revision))
        yield event
    for path in sorted(desk.issued.glob("*.xlsx")):
        quote = record_of_file(desk, path, firm)
        if (quote.quote_number, quote.revision) not in issued:
            yield Issued(at=f"{quote.issued_on}T00:00:00.000000+00:00", quote=quote)


def _event(desk: Desk, slip_path: Path, details: Details, firm: Firm) -> Event:
    if details["event"] == "issued":
        path = desk.issued_path(details["quote_number"], details["revision"])
    elif details["event"] == "agreed":
        path = returned_path(desk, details["sha256"])
    else:
        return event_of(details)
    if not path.exists():
        raise Unreadable(f"{slip_path}: its workbook {path} is missing. Put back your copy of it.")
    return event_of(details, record_of_file(desk, path, firm_at_event(details, firm)))


def has_slips(desk: Desk) -> bool:
    """Whether any event was ever recorded at a desk."""
    return any(_slips(desk).glob("*.json"))


def _slips(desk: Desk) -> Path:
    return desk.folder / "slips"


def returned_path(desk: Desk, digest: str) -> Path:
    """The path at which a desk keeps the returned file with this SHA-256."""
    return desk.folder / "returned" / f"{digest}.xlsx"


def find_returned(desk: Desk, digest: str) -> Path | None:
    """A file in the desk's `returned` folder with this SHA-256, also under a name that a person gave it."""
    kept = returned_path(desk, digest)
    if kept.exists():
        return kept
    named = [path for path in kept.parent.glob("*") if len(path.stem) != len(digest) and path.is_file()]
    return next((path for path in named if digest_of(path.read_bytes()) == digest), None)


def _put(path: Path, content: bytes) -> None:
    """Write a file unless it exists. Its name decides its content, so two processes that write it write one thing."""
    if not path.exists():
        path.parent.mkdir(exist_ok=True)
        with atomically(path, overwrite=True) as temporary:
            temporary.write_bytes(content)
