"""The code that a kind of panel has now, whatever it was called when a quote was issued.

A code that only changed its capitals is the same kind, and a kind that was renamed has its new code in
every quote that was issued before.
"""

from collections.abc import Collection, Sequence

from sqlalchemy import ColumnElement, Connection, case, exists, tuple_

from quotebook.engine.stock import Item
from quotebook.ledger.rows import distinct, read_renames, spelling
from quotebook.ledger.stock_changes import Rename, renamed
from quotebook.ledger.tables import history, lines, quotes
from quotebook.ledger.through_sqlalchemy import SqlalchemyTransaction


def kind_now(connection: Connection, on_card: Collection[str] = ()) -> ColumnElement[str]:
    """The code now of the kind of a row of `lines`, for queries that have its row of `quotes` too; its name is `kind`.

    A code is spelled as among those `on_card`, or else as it was recorded last.
    """
    transaction = SqlalchemyTransaction(connection)
    panel, renames = lines.c.panel, read_renames(transaction)
    codes, spelled = distinct(transaction, "lines", "panel"), spelling(transaction, on_card)

    def after(later: Sequence[Rename]) -> dict[str, str]:
        """The code now of every code that was recorded before these renames."""
        found = {}
        for code in codes:
            [item] = renamed({Item("panels", code): 1}, later, {})
            found[code] = spelled[item.code.casefold()]
        return {code: now for code, now in found.items() if now != code}

    now: ColumnElement[str] = panel
    for first in reversed(range(len(renames) + 1)):
        if codes_before := after(renames[first:]):
            called = case(codes_before, value=panel, else_=panel)
            now = called if first == len(renames) else case((_issued_before(renames[first]), called), else_=now)
    return now.label("kind")


def _issued_before(rename: Rename) -> ColumnElement[bool]:
    """Whether the revision of a row of `quotes` was issued before a rename."""
    place = tuple_(history.c.clock, history.c.desk, history.c.sequence)
    issued = history.c.event == "issued", *(history.c[key] == quotes.c[key] for key in ("quote_number", "revision"))
    return exists().where(*issued, place < tuple_(rename["clock"], rename["desk"], rename["sequence"]))
