"""Every revision that was issued: all of them where they are few, and else those of a number when it is asked about."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from quotebook.ledger import Ledger

FEW = 20_000
"""So many rows of figures are read at once, in about the time that the check of a few files takes."""


class IssuedRevision(NamedTuple):
    """What tells one issued revision from another of its number."""

    issued_on: date
    client: str
    event_date: date


@dataclass(frozen=True)
class Revisions:
    """The revisions that a ledger knows to have been issued; a copy in another process knows them too."""

    few: Mapping[str, Mapping[int, IssuedRevision]] = field(default_factory=dict)
    """All of them, by number and revision, where there is no `url`."""
    url: str = ""
    """The address of the ledger that has more of them than are read at once."""

    def __bool__(self) -> bool:
        return bool(self.few or self.url)

    def of(self, quote_number: str) -> Mapping[int, IssuedRevision]:
        """Those of one number, by revision. Raises what `Ledger` raises."""
        return _asked(self.url, quote_number) if self.url else self.few.get(quote_number, {})


def read_revisions(ledger: Ledger) -> Revisions:
    """The revisions in a ledger."""
    with ledger.database.reading() as transaction:
        more = "SELECT quote_id FROM quotes ORDER BY quote_id LIMIT 1 OFFSET :few"
        if transaction.value(more, few=FEW) is not None:
            return Revisions(url=ledger.url)
    return Revisions(_read(ledger))


@lru_cache(maxsize=1)
def _opened(url: str) -> Ledger:
    return Ledger(url)


@lru_cache(maxsize=1024)
def _asked(url: str, quote_number: str) -> Mapping[int, IssuedRevision]:
    return _read(_opened(url), quote_number).get(quote_number, {})


def _read(ledger: Ledger, quote_number: str = "") -> Mapping[str, Mapping[int, IssuedRevision]]:
    """Every revision that was issued, or those of one number, by number and revision."""
    columns = ", ".join(IssuedRevision._fields)
    of_number, values = ("AND quote_number = :number", {"number": quote_number}) if quote_number else ("", {})
    query = f"SELECT quote_number, revision, {columns} FROM quotes WHERE sha256 = '' {of_number}"
    found: dict[str, dict[int, IssuedRevision]] = defaultdict(dict)
    with ledger.database.reading() as transaction:
        for number, revision, *each in transaction.rows(query, **values):
            found[number][revision] = IssuedRevision(*each)
    return dict(found)
