"""Where the names of a returned workbook lead, beside what they were issued for."""

from typing import NamedTuple

from quotebook.checking.returned import Returned
from quotebook.contract.stamped import table_columns
from quotebook.spreadsheets.cells import CellRange


class Displaced(NamedTuple):
    """Where a name leads, and where it belongs."""

    leads: CellRange
    belongs: CellRange


def displaced(returned: Returned) -> dict[str, Displaced]:
    """Names that lead elsewhere than to what they were issued for.

    A table may have grown below its last row, all of its columns alike: that is a matter of its rows.
    """
    elsewhere = {}
    for name, due in returned.due.items():
        area = returned.areas[name]
        belongs = returned.due_now(name) if area != due else None
        if area and belongs and area != belongs and not _grown_alike(returned, name, area, belongs):
            elsewhere[name] = Displaced(area, belongs)
    return elsewhere


def _grown_alike(returned: Returned, name: str, area: CellRange, belongs: CellRange) -> bool:
    """Whether a column of a table only ends further down, and its table's others where it does."""
    if (
        name not in returned.content.tables
        or area._replace(bottom=belongs.bottom) != belongs
        or area.bottom < belongs.bottom
    ):
        return False
    beside = next((names for names in table_columns(returned.content).values() if name in names), (name,))
    areas = (returned.areas[other] for other in beside)
    return all(other is not None and other.bottom == area.bottom for other in areas)


def doubled(returned: Returned) -> dict[str, list[str]]:
    """Names that stand for something else on some of the quote's sheets ("": in the whole workbook), with those."""
    ours = {returned.sheet_now(sheet) for sheet in returned.content.fixed} | {""}
    others = {
        name: [sheet for sheet, area in local if sheet in ours and area != returned.areas[name]]
        for name, local in returned.local_areas.items()
    }
    return {name: sheets for name, sheets in others.items() if sheets}
