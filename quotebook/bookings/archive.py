"""Keeps what a desk's ledger can be rebuilt from: every workbook, and a signed slip of every event.

`issued/` has the quotes as they were issued, `returned/` the files that came back, named by their
SHA-256, and `slips/` what happened, numbered from 1 on.

What is written when: first the workbook, then the event in the ledger, then its slip. Each is on the
disk, its folder too, before the next is begun, and only after the last is anything said to be done.
Of several events that are recorded at once that is first every workbook, then all of the events in one
transaction, then their slips, the oldest first.
So a workbook without an event can still be recorded, an event never lacks its workbook, and a ledger
may be ahead of its slips by what a crash cut short: those slips are written before the next. A ledger
behind its slips is therefore always an older copy, or another desk's, and nothing is promised from it.
"""

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from secrets import token_hex

from quotebook.checking.check import check_file, returned_quote
from quotebook.checking.comparison import Comparison
from quotebook.checking.kinds import Kind
from quotebook.contract.stamped import papers_of
from quotebook.desk import Desk
from quotebook.engine.model import Firm, RateCard
from quotebook.engine.stock import Item
from quotebook.errors import Misuse, Unreadable
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger, is_shared, ledger_path, ledger_url
from quotebook.ledger.events import Event, Issued, now
from quotebook.ledger.life import NumberTaken
from quotebook.ledger.records import QuoteRecord, record_of
from quotebook.ledger.slips import named_by_moment, numbered, place_of, read_slip, slip_name, write_slip
from quotebook.spreadsheets.cells import Workbook

NEXT = 8
"""So many slips after the last one of the ledger are looked for: the very next may be missing as well."""


def open_ledger(desk: Desk) -> Ledger:
    """The desk's own ledger, begun if the desk has recorded nothing yet; or the one that QUOTEBOOK_LEDGER names.

    A file that QUOTEBOOK_LEDGER names is never begun here: its name may be mistyped, and everything would be free
    in it. Raises Misuse if the ledger is missing, is older than the desk's last slip, or is another desk's: it
    would treat as free what is promised. What this costs is the reading of the last slip.
    """
    desk.key()
    recorded, is_there = has_slips(desk), has_ledger(desk.folder)
    if is_shared() and not recorded and not is_there:
        raise Misuse(
            f"{os.environ['QUOTEBOOK_LEDGER']}: QUOTEBOOK_LEDGER names this file, and there is no ledger there. "
            "Correct the name, or begin a ledger there: quotebook rebuild"
        )
    ledger = Ledger(ledger_url(desk.folder), desk_name(desk)) if is_there or not recorded else None
    if ledger is None or (recorded and not ledger.has_entries()):
        raise Misuse(f"{desk.folder}: its ledger is missing. Put back your copy, or re-create it: quotebook rebuild.")
    must_be_of(desk, ledger)
    _must_not_be_behind(desk, ledger)
    return ledger


def must_be_of(desk: Desk, ledger: Ledger) -> None:
    """Raises Misuse if the ledger is the file in the desk's folder, and another desk recorded in it."""
    if (
        not is_shared()
        and ledger.database.name == str(ledger_path(desk.folder).absolute())
        and (ledger.desks() - {ledger.desk})
    ):
        raise Misuse(
            f"{ledger.database.name}: is another desk's ledger. Nothing is promised from it. Put back this desk's own, "
            "or set this one aside and make it anew: quotebook rebuild --anew"
        )


def _must_not_be_behind(desk: Desk, ledger: Ledger) -> None:
    """Raises Misuse for a ledger that lacks what is on a slip, and Unreadable for a last slip that was changed."""
    last, line = ledger.last_line()
    later = [path for n in range(1, NEXT + 1) if (path := slip_path(desk, last + n)).exists()]
    if later and ledger.last_line()[0] == last:  # not just recorded by another process
        raise Misuse(
            f"{ledger.database.name}: is older than this desk's slips: it has {last} of its events, and slip "
            f"{later[0].name} is there. Nothing is promised from it. Bring it up to date: quotebook rebuild"
        )
    path = slip_path(desk, last)
    if last and path.exists() and read_slip_file(path, desk.key()) != line:
        raise Misuse(
            f"{ledger.database.name}: is another desk's ledger, or {path} another desk's slip: they differ in event "
            f"{last}. Put back this desk's own, or set this ledger aside and make it anew: quotebook rebuild --anew"
        )


def desk_name(desk: Desk) -> str:
    """The name under which a desk records: made up at random the first time, and kept in its folder of slips.

    Where that folder was lost, the name is the one in the desk's own ledger, from which all slips can be written.
    """
    path = name_path(desk)
    try:
        return path.read_text("ascii").strip()
    except UnicodeDecodeError as error:
        raise Unreadable(f"{path}: was changed, and is no desk's name. Put back your copy, or remove it.") from error
    except OSError:
        pass
    first = slip_path(desk, 1)
    name = _desk_on_slip(first, desk.key()) if first.exists() else _desk_in_ledger(desk) or token_hex(6)
    try:
        path.parent.mkdir(exist_ok=True)
        with atomically(path) as temporary:
            temporary.write_text(f"{name}\n", "ascii")
    except Misuse:
        if not path.exists():
            raise
    return path.read_text("ascii").strip()


def keep_returned(desk: Desk, path: Path) -> str:
    """Keep one copy of a file that came back, named by its SHA-256; returns the SHA-256."""
    return keep_content(desk, path.read_bytes())


def keep_content(desk: Desk, content: bytes) -> str:
    """Keep the content of a file that came back, as `keep_returned` does."""
    digest = digest_of(content)
    _put(returned_path(desk, digest), content)
    return digest


def digest_of(content: bytes) -> str:
    """The SHA-256 of a file's content, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def record_event(desk: Desk, ledger: Ledger, event: Event, owned: Mapping[Item, int] | None = None) -> bool:
    """Record an event, and keep its slip; False if it was recorded already.

    What the quote then holds anew must be free out of `owned`. Raises what the ledger raises, and Misuse
    if the event is recorded but its slip cannot be written.
    """
    new = ledger.record(event, owned)
    _keep_slips_of_recorded(desk, ledger)
    return new


def record_events(desk: Desk, ledger: Ledger, events: Sequence[Event]) -> None:
    """Record several events in one transaction, and keep their slips. Raises what `record_event` raises."""
    ledger.record_all(events)
    _keep_slips_of_recorded(desk, ledger)


def _keep_slips_of_recorded(desk: Desk, ledger: Ledger) -> None:
    try:
        keep_slips(desk, ledger)
    except Misuse as error:
        raise Misuse(
            f"it is recorded in the ledger, and its slip will be written with the next record: {error}"
        ) from error


def keep_slips(desk: Desk, ledger: Ledger) -> None:
    """Write the slips that the desk lacks of its last events in the ledger, the oldest first."""
    last, _ = ledger.last_line()
    while last and not slip_path(desk, last).exists():
        last -= 1
    key = desk.key()
    for sequence, line in ledger.lines(last + 1):
        write_slip_file(slip_path(desk, sequence), line, key)


def record_issued(desk: Desk, ledger: Ledger, path: Path, card: RateCard, workbook: Workbook | None = None) -> None:
    """Record the workbook at `path` as issued. Raises NumberTaken if another desk used its number meanwhile.

    In that case the workbook is removed again. The figures are those in the file, since a rebuilt ledger
    would have those; `workbook` is the file where it was read already.
    """
    try:
        record_event(desk, ledger, issued_of_file(desk, path, card.firm, workbook))
    except NumberTaken:
        path.unlink()
        raise


def issued_of_file(desk: Desk, path: Path, firm: Firm, workbook: Workbook | None = None) -> Issued:
    """The issue of a file: its record, and the days that its own cells say. Raises Misuse and Unreadable.

    `workbook` is the file where it was read already.
    """
    comparison = returned_quote(path, desk, workbook)
    rates, request = comparison.issued_rates, comparison.request
    return Issued(
        at=now(), quote=record_of_comparison(comparison, firm), sha256=digest_of(path.read_bytes()),
        valid_until=str(papers_of(comparison.content).valid_until), deposit_days=int(rates.deposit_days),
        balance_days=int(rates.balance_days), options="".join(request.options), picked=request.picked,
    )  # fmt: skip


def record_of_file(desk: Desk, path: Path, firm: Firm) -> QuoteRecord:
    """The record of a file: its entries, priced at the rates it was issued with. Raises Misuse and Unreadable."""
    return record_of_comparison(returned_quote(path, desk), firm)


def record_of_comparison(comparison: Comparison, firm: Firm) -> QuoteRecord:
    """The record of a file that was read already: its entries, priced at the rates it was issued with.

    Raises Misuse if the entries have no date or no days.
    """
    papers = papers_of(comparison.content)
    return record_of(papers, comparison.request, comparison.expected, comparison.issued_rates, firm)


def has_slips(desk: Desk) -> bool:
    """Whether any event was ever recorded at a desk."""
    folder = _slips(desk)
    return folder.is_dir() and any(numbered(path.name) or named_by_moment(path.name) for path in folder.iterdir())


def slip_path(desk: Desk, sequence: int) -> Path:
    """The path of a desk's slip with this number."""
    return _slips(desk) / slip_name(sequence)


def read_slip_file(path: Path, key: bytes) -> str:
    """The line on a slip. Raises Unreadable, with the path, if the slip was changed or cannot be read."""
    try:
        return read_slip(path.read_bytes(), key)
    except Unreadable as error:
        raise Unreadable(f"{path}: {error}") from None
    except OSError as error:
        raise Unreadable(f"{path}: cannot be read: {error.strerror}.") from error


def write_slip_file(path: Path, line: str, key: bytes) -> None:
    """Write the slip with this line, unless it exists. Raises Misuse if it cannot be written."""
    _put(path, write_slip(line, key).encode())


def is_as_signed(desk: Desk, path: Path) -> bool:
    """Whether nothing in an issued workbook differs from what its stamp signs."""
    return {finding.kind for finding in check_file(path, desk).findings} <= {Kind.EXPIRED, Kind.OLDER_REVISION}


def _desk_in_ledger(desk: Desk) -> str:
    """The name of the only desk in the ledger of a desk's folder; empty if there is none, or several."""
    if is_shared() or not has_ledger(desk.folder):
        return ""
    names = Ledger(ledger_url(desk.folder)).desks()
    return names.pop() if len(names) == 1 else ""


def name_path(desk: Desk) -> Path:
    """The file that keeps the name under which a desk records."""
    return _slips(desk) / "desk.txt"


def _desk_on_slip(path: Path, key: bytes) -> str:
    place = place_of(json.loads(read_slip_file(path, key)))
    return place.desk if place else ""


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
