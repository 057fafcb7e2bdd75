"""Makes a desk's ledger again of its slips and workbooks, or brings an older copy of it up to date.

Only what is signed and whole is used: a slip by its signature and by the chain, a workbook by the
digest on its slip. The first thing that is missing, edited or doubled is named, and nothing is made.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from quotebook.bookings.archive import (
    is_as_signed,
    must_be_of,
    name_path,
    read_slip_file,
    record_issued,
    record_of_file,
    slip_path,
)
from quotebook.bookings.soundness import must_have_workbook
from quotebook.desk import Desk
from quotebook.engine.model import Firm
from quotebook.errors import Misuse, QuotebookError, Unreadable
from quotebook.ledger import Ledger
from quotebook.ledger.database import ledger_path
from quotebook.ledger.events import EVENTS, Details, firm_at_event
from quotebook.ledger.recording import KeptEvent
from quotebook.ledger.records import QuoteRecord
from quotebook.ledger.slips import digest_of_line, named_by_moment, numbered, place_of
from quotebook.progress import watched


@dataclass(frozen=True)
class Rebuilt:
    """What was put back."""

    events: int
    """How many events the ledger lacked."""
    total: int
    """How many it has now."""
    strays: tuple[Path, ...]
    """Files among the desk's slips that are none. They were left where they are."""


def rebuild(desk: Desk, ledger: Ledger) -> Rebuilt:
    """Put back into a ledger what the desk's slips have and it lacks; after any error it is as it was.

    Raises Unreadable for a slip or a workbook that is missing or was changed, and Misuse for a ledger of
    another desk.
    """
    must_be_of(desk, ledger)
    firm = desk.card().firm
    lines = [*_lines_before_numbers(desk), *_chain(desk, ledger)]
    kept = watched(lines, "Re-creating the ledger")
    lacked = ledger.put_back(KeptEvent(line, _figures(desk, json.loads(line), firm)) for line in kept)
    strays = [path for path in _slip_files(desk) if not _is_slip(path) and path != name_path(desk)]
    return Rebuilt(lacked, ledger.count(), tuple(strays))


def set_aside(desk: Desk) -> Path:
    """Give the desk's ledger file another name, so that a new one can be made; returns that name. Raises Misuse."""
    path = ledger_path(desk.folder)
    if not path.exists():
        raise Misuse(f"{path}: there is no ledger to set aside. Leave out --anew.")
    aside = next(name for n in count(1) if not (name := path.with_name(f"{path.stem}.aside-{n}{path.suffix}")).exists())
    return path.rename(aside)


def record_unrecorded(desk: Desk, ledger: Ledger) -> tuple[list[Path], list[str]]:
    """Record every workbook in `issued` that has no event yet and is as it was signed; returns them, and refusals."""
    recorded, refused = [], []
    card = desk.card()
    for path in watched(sorted(desk.issued.glob("Q*.xlsx")), "Looking through the quotes"):
        number, _, revision = path.stem.rpartition("-r")
        if not (revision.isdecimal() and path == desk.issued_path(number, int(revision))):
            continue
        if int(revision) in ledger.life(number).issued:
            continue
        try:
            if not is_as_signed(desk, path):
                raise Misuse(f"{path}: was changed after it was signed, and no slip names it. It was not recorded.")
            record_issued(desk, ledger, path, card)
            recorded.append(path)
        except QuotebookError as error:
            refused.append(str(error))
    return recorded, refused


def _chain(desk: Desk, ledger: Ledger) -> Iterator[str]:
    """The lines of the desk's slips after the last that the ledger has. Raises Unreadable where the chain breaks."""
    key, (last, line) = desk.key(), ledger.last_line()
    if last and slip_path(desk, last).exists() and read_slip_file(slip_path(desk, last), key) != line:
        raise Misuse(
            f"{slip_path(desk, last)}: the ledger has another event there. It is another desk's, or was edited."
        )
    highest = max((numbered(path.name) or 0 for path in _slip_files(desk)), default=0)
    for sequence in range(last + 1, highest + 1):
        path = slip_path(desk, sequence)
        if not path.exists():
            raise Unreadable(
                f"{path}: this slip is missing. Put back your copy of it, or a copy of the ledger that has its event."
            )
        after, line = line, read_slip_file(path, key)
        place = place_of(json.loads(line))
        previous = digest_of_line(after) if after else ""
        if place is None or (place.desk, place.sequence, place.previous) != (ledger.desk, sequence, previous):
            raise Unreadable(
                f"{path}: is not the slip that follows the one before it: it is a copy of another, or another desk's. "
                "Put back the right one."
            )
        yield line


def _lines_before_numbers(desk: Desk) -> list[str]:
    """The lines of slips from before slips were numbered, in the order of their moments."""
    order = list(EVENTS)
    lines = [read_slip_file(path, desk.key()) for path in _slip_files(desk) if named_by_moment(path.name)]

    def moment(line: str) -> tuple[str, int]:
        details = json.loads(line)
        return details["at"], order.index(details["event"])

    return sorted(lines, key=moment)


def _figures(desk: Desk, details: Details, firm: Firm) -> QuoteRecord | None:
    """The figures of an event's workbook. Raises Unreadable if it is missing, or is not the one on the slip."""
    path = must_have_workbook(desk, details)
    return record_of_file(desk, path, firm_at_event(details, firm)) if path else None


def _is_slip(path: Path) -> bool:
    return numbered(path.name) is not None or named_by_moment(path.name)


def _slip_files(desk: Desk) -> list[Path]:
    """Every file among the desk's slips but hidden ones, which programs that were killed leave, and locks."""
    folder = slip_path(desk, 1).parent
    files = folder.iterdir() if folder.is_dir() else ()
    return sorted(path for path in files if not path.name.startswith((".", "~$")))
