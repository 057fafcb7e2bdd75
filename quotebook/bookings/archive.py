"""What a desk keeps so that its ledger can be made again: every workbook, and a signed slip of every event.

`issued/` has the quotes as they went out, `returned/` the files that came back, by their SHA-256, and
`slips/` what happened when. Slips follow the ledger: those of a quote are brought up to its history
after each event, so what a crash left out is made up for by the next.
"""

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from quotebook.checking.check import returned_quote
from quotebook.checking.comparison import Comparison
from quotebook.contract.values import day_of, request_of
from quotebook.desk import Desk
from quotebook.engine.model import Firm, Papers, RateCard
from quotebook.engine.stock import Item
from quotebook.errors import Misuse, Unreadable
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger, ledger_url
from quotebook.ledger.events import (
    Agreed,
    Event,
    Issued,
    event_of,
    firm_then,
    in_order,
    now,
    read_slip,
    slip,
    slip_name,
)
from quotebook.ledger.recording import NumberTaken
from quotebook.ledger.records import QuoteRecord, record_of


def ledger_of(desk: Desk) -> Ledger:
    """The desk's ledger, or the one that QUOTEBOOK_LEDGER names; made where the desk has recorded nothing yet.

    Raises Misuse where the ledger has gone and the desk's slips have not: an empty one would call
    everything free.
    """
    if has_slips(desk) and not (has_ledger(desk.folder) and Ledger(ledger_url(desk.folder)).has_entries()):
        raise Misuse(
            f"{desk.folder}: its ledger is not there. Put back your copy, or make it again: quotebook rebuild."
        )
    return Ledger(ledger_url(desk.folder))


def keep_returned(desk: Desk, path: Path) -> str:
    """Keeps a copy of a file that came back; returns its SHA-256, by which it is kept once."""
    content = path.read_bytes()
    digest = digest_of(content)
    _put(returned_path(desk, digest), content)
    return digest


def digest_of(content: bytes) -> str:
    """The SHA-256 by which a file is known, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def record_event(desk: Desk, ledger: Ledger, event: Event, owned: Mapping[Item, int] | None = None) -> bool:
    """Records an event, and keeps its slip; False where it was recorded already.

    An Agreed is recorded only if all that it takes is free out of `owned`. Raises what the ledger raises.
    """
    new = ledger.agree(event, owned or {}) if isinstance(event, Agreed) else ledger.record(event)
    keep_slips(desk, ledger, event.quote_number)
    return new


def keep_slips(desk: Desk, ledger: Ledger, quote_number: str | None = None) -> None:
    """Writes every slip that is not there yet, of one quote or of all that this desk issued."""
    key = desk.key()
    for details in ledger.history(quote_number):
        path = _slips(desk) / slip_name(details)
        if not path.exists() and desk.issued_path(details["quote_number"], details["revision"]).exists():
            _put(path, slip(details, key).encode())


def record_issued(desk: Desk, ledger: Ledger, path: Path, card: RateCard) -> None:
    """Records the workbook at `path`, or removes it where another desk has issued under its number meanwhile.

    What is recorded is read back from the file, since that is what a ledger made again would hold.
    """
    try:
        record_event(desk, ledger, Issued(at=now(), quote=record_of_file(desk, path, card.firm)))
    except NumberTaken:
        path.unlink()
        raise


def record_of_file(desk: Desk, path: Path, firm: Firm) -> QuoteRecord:
    """The figures that a file's entries make at the rates it was issued with. Raises Misuse and Unreadable."""
    return record_of_quote(returned_quote(path, desk), firm)


def record_of_quote(comparison: Comparison, firm: Firm) -> QuoteRecord:
    """The same of a file that was read already. Raises Misuse where it has no date or no days."""
    owner = comparison.content.owner
    days = (day_of(owner[name]) for name in ("issued_on", "valid_until"))
    papers = Papers(owner["quote_number"], owner["revision"], *days)
    request = request_of(comparison.entries, owner)
    return record_of(papers, request, comparison.expected, comparison.issued_rates, firm)


def rebuild(desk: Desk, ledger: Ledger) -> int:
    """Makes a new ledger again of what the desk keeps, all of it or, in any error, nothing; the number of events."""
    events = in_order(kept_events(desk, desk.card().firm))
    ledger.rebuild(events)
    return len(events)


def kept_events(desk: Desk, firm: Firm) -> Iterator[Event]:
    """Every event that the desk has a slip of, and the issue of every quote that has none.

    Such a quote counts as issued at the start of its day, at the turnaround and in the currency of
    `firm`. Raises Unreadable for a slip that does not hold or whose workbook is not there.
    """
    key, issued = desk.key(), set()
    for path in sorted(_slips(desk).glob("*.json")):
        try:
            details = read_slip(path.read_text("utf-8"), key)
        except Unreadable as error:
            raise Unreadable(f"{path}: {error}") from None
        event = _event(desk, path, details, firm)
        issued.add((event.quote_number, event.revision) if isinstance(event, Issued) else None)
        yield event
    for path in sorted(desk.issued.glob("*.xlsx")):
        quote = record_of_file(desk, path, firm)
        if (quote.quote_number, quote.revision) not in issued:
            yield Issued(at=f"{quote.issued_on}T00:00:00.000000+00:00", quote=quote)


def _event(desk: Desk, slip_path: Path, details: Mapping, firm: Firm) -> Event:
    if details["event"] == "issued":
        path = desk.issued_path(details["quote_number"], details["revision"])
    elif details["event"] == "agreed":
        path = returned_path(desk, details["sha256"])
    else:
        return event_of(details)
    if not path.exists():
        raise Unreadable(f"{slip_path}: its workbook {path} is not there. Put back your copy of it.")
    return event_of(details, record_of_file(desk, path, firm_then(details, firm)))


def has_slips(desk: Desk) -> bool:
    """Whether anything was ever recorded at a desk."""
    return any(_slips(desk).glob("*.json"))


def _slips(desk: Desk) -> Path:
    return desk.folder / "slips"


def returned_path(desk: Desk, digest: str) -> Path:
    """Where a file that came back is kept."""
    return desk.folder / "returned" / f"{digest}.xlsx"


def _put(path: Path, content: bytes) -> None:
    """A file that holds the same whoever writes it, so that it does not matter who does."""
    if not path.exists():
        path.parent.mkdir(exist_ok=True)
        with atomically(path, overwrite=True) as temporary:
            temporary.write_bytes(content)
