"""The code that a kind of panel has now, whatever it was called when a quote was issued.

A code that only changed its capitals is the same kind, and a kind that was renamed has its new code in
every quote that was issued before.
"""

from collections.abc import Collection, Sequence

from sqlalchemy import Column, ColumnElement, Connection, case, exists, func, select, tuple_

from quotebook.engine.stock import Item
from quotebook.ledger.rows import read_renames
from quotebook.ledger.stock_changes import Rename, renamed
from quotebook.ledger.tables import history, lines, quotes


def kind_now(connection: Connection, on_card: Collection[str] = ()) -> ColumnElement[str]:
    """The code now of the kind of a row of `lines`, for queries that have its row of `quotes` too; its name is `kind`.

    A code is spelled as among those `on_card`, or else as it was recorded last.
    """
    panel, renames = lines.c.panel, read_renames(connection)
    codes, spelled = distinct(connection, panel), spelling(connection, on_card)

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


def spelling(connection: Connection, on_card: Collection[str] = ()) -> dict[str, str]:
    """How each code of a panel is spelled, by the code without a difference of capitals.

    That is as among those `on_card`, or else as by the last rename, or else as in the last quote that was recorded.
    """
    last = select(func.max(lines.c.quote_id))
    codes = distinct(connection, lines.c.panel)
    if len({code.casefold() for code in codes}) < len(codes):
        codes.sort(key=lambda code: connection.scalar(last.where(lines.c.panel == code)) or 0)
    renames = (rename["new"] for rename in read_renames(connection))
    return {code.casefold(): code for code in (*codes, *renames, *on_card)}


def distinct(connection: Connection, column: Column[str]) -> list[str]:
    """The values of a column that an index begins with, in its order: each is looked up after the one before.

    Neither database does that for DISTINCT: both would read a column of a million rows for its few values.
    """
    values = select(func.min(column).label("value")).cte("found", recursive=True)
    later = select(func.min(column)).where(column > values.c.value).scalar_subquery()
    values = values.union_all(select(later).where(values.c.value.is_not(None)))
    return list(connection.scalars(select(values.c.value).where(values.c.value.is_not(None))))


def _issued_before(rename: Rename) -> ColumnElement[bool]:
    """Whether the revision of a row of `quotes` was issued before a rename."""
    place = tuple_(history.c.clock, history.c.desk, history.c.sequence)
    issued = history.c.event == "issued", *(history.c[key] == quotes.c[key] for key in ("quote_number", "revision"))
    return exists().where(*issued, place < tuple_(rename["clock"], rename["desk"], rename["sequence"]))
