"""Writes the workbook for a request, and keeps it in the desk's `issued` folder.

Every workbook is read back from its file before it has its name: what a client will open is what has to be
right, not what was meant to be written. What is read is proved (`proving`); the ledger records from the file
too, since that is what a ledger made again would have.
"""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from quotebook.client.draft import Issue
from quotebook.client.logo import Logo, NoPicture, read_logo
from quotebook.client.workbook import write_quote
from quotebook.contract.stamp import Content
from quotebook.desk import Desk
from quotebook.engine.model import Papers, RateCard, Request
from quotebook.errors import InvalidInput
from quotebook.files import atomically
from quotebook.quoting.proving import prove
from quotebook.spreadsheets.cells import Workbook
from quotebook.spreadsheets.reading import read_workbook


class Written(NamedTuple):
    """A quote's workbook that was written, read back and proved."""

    path: Path
    content: Content
    """What its stamp signs."""
    workbook: Workbook
    """The file as it was read back."""


def issue(
    desk: Desk,
    card: RateCard,
    request: Request,
    number: str,
    today: date,
    revision: int = 1,
    changes: tuple[str, ...] = (),
) -> tuple[Path, Content]:
    """Write one quote into the desk; returns its path and what its stamp signs. See `write_and_read`."""
    written = write_and_read(desk, card, request, number, today, revision, changes)
    return written.path, written.content


def write_and_read(
    desk: Desk,
    card: RateCard,
    request: Request,
    number: str,
    today: date,
    revision: int = 1,
    changes: tuple[str, ...] = (),
) -> Written:
    """Write one quote into the desk, and read it back.

    `number` comes from `desk.numbers()`; `changes` are the sentences that a later revision's first
    sheet shows. What is read back is proved before the file has its name. Raises Misuse if that revision
    is there already, InvalidInput if the card's logo is not a picture, and NotProved.
    """
    path = desk.issued_path(number, revision)
    whole = replace(issue_of(card, request, number, today, revision, changes), logo=logo_of(desk, card))
    with atomically(path) as temporary:
        with temporary.open("wb") as file:
            content = write_quote(file, whole, desk.key())
        workbook = read_workbook(temporary)
        prove(workbook, content, number)
    return Written(path, content, workbook)


def issue_of(
    card: RateCard, request: Request, number: str, today: date, revision: int = 1, changes: tuple[str, ...] = ()
) -> Issue:
    """Everything that the workbook of one quote shows, except the logo."""
    papers = Papers(number, Decimal(revision), today, today + timedelta(days=int(card.firm.valid_days)))
    return Issue(papers, card.firm, card.rates, request, card.terms, changes, finishes=card.finishes)


def logo_of(desk: Desk, card: RateCard) -> Logo | None:
    """The picture that the card names, from the desk's folder; None if it names none. Raises InvalidInput."""
    if not card.firm.logo:
        return None
    path = desk.folder / card.firm.logo
    try:
        return read_logo(path.read_bytes())
    except (OSError, NoPicture) as error:
        why = error.strerror if isinstance(error, OSError) else f"allowed: {error}"
        raise InvalidInput(f"{path}: the rate card's logo cannot be put on a quote:", [f"{why}, or no logo"]) from error


def copy_to(target: Path, path: Path) -> Path:
    """Copy an issued workbook to `target` for the client. Raises Misuse if a file is there already."""
    with atomically(target) as temporary:
        temporary.write_bytes(path.read_bytes())
    return target
