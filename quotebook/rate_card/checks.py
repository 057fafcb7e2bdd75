"""Checks that compare cells of the rate card with each other; each yields a complaint for every mistake of its kind."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from quotebook.engine.model import OVER_SUBFLOOR, SURFACES, same_text
from quotebook.engine.money import ZERO
from quotebook.rate_card.layout import EDGING, TABLES
from quotebook.rate_card.rules import Value
from quotebook.spreadsheets.filled_in import describe


@dataclass(frozen=True)
class Entry:
    """One cell of the card."""

    where: str
    """Sheet, cell and label."""
    found: object
    """The contents of the cell."""
    value: Value | None
    """What the contents were read as; None where they cannot be used."""

    def complaint(self, allowed: str) -> str:
        """A line that says where the cell is, what it holds and what is allowed."""
        return f"{self.where}: found {describe(self.found)}; allowed: {allowed}"


Entries = dict[str, Entry]
"""The entries of all forms, or of one row of a table, by the names of their fields."""
Tables = dict[str, list[Entries]]
"""The rows of each table by its name."""


def check_rows_needed(figures: Entries, tables: Tables) -> Iterator[str]:
    """Nothing can be priced without a panel and without the factor of the first day."""
    for table in TABLES:
        if table.name in ("kinds", "day_factors") and not tables[table.name]:
            yield f"sheet {table.title}: found no row; allowed: at least one"


def check_codes_once(figures: Entries, tables: Tables) -> Iterator[str]:
    """Codes are compared as spreadsheets compare texts: capitals make no difference."""
    for name, column in (("kinds", "panel"), ("subfloors", "subfloor_kind"), ("surfaces", "surface")):
        seen: list[str] = []
        for entry, code in texts(tables[name], column):
            if any(same_text(code, earlier) for earlier in seen):
                yield entry.complaint("each one once (capitals make no difference)")
            seen.append(code)


def check_all_surfaces(figures: Entries, tables: Tables) -> Iterator[str]:
    """Every surface needs its row on the sheet Surfaces."""
    listed = {surface for _, surface in texts(tables["surfaces"], "surface")}
    for surface in SURFACES:
        if surface not in listed:
            yield f'sheet Surfaces: found no row for "{surface}"; allowed: one row for each of {", ".join(SURFACES)}'


def check_subfloors_known(figures: Entries, tables: Tables) -> Iterator[str]:
    """A panel may name only a subfloor that has a row on the sheet Subfloors."""
    known = [code for _, code in texts(tables["subfloors"], "subfloor_kind")]
    for entry, code in texts(tables["kinds"], "subfloor_kind"):
        if code and not any(same_text(code, other) for other in known):
            yield entry.complaint("a code of sheet Subfloors: " + (", ".join(known) or "it has none yet"))


def check_subfloor_where_needed(figures: Entries, tables: Tables) -> Iterator[str]:
    """A panel that goes over a subfloor anywhere must name that subfloor."""
    for row in tables["kinds"]:
        layings = [row[name].value for name in row if name.startswith("on_")]
        if OVER_SUBFLOOR in layings and "subfloor_kind" in row and row["subfloor_kind"].value == "":
            yield row["subfloor_kind"].complaint(f'a code of sheet Subfloors, since this panel goes "{OVER_SUBFLOOR}"')


def check_edging_complete(figures: Entries, tables: Tables) -> Iterator[str]:
    """The columns of edging are all filled or all empty."""
    for row in tables["kinds"]:
        edging = [row[name] for name in EDGING if name in row]
        if any(entry.found is not None for entry in edging):
            for entry in edging:
                if entry.found is None and not entry.value:
                    yield entry.complaint("a figure, since edging is kept for this panel (or all of its edging empty)")


def check_factors_ascending(figures: Entries, tables: Tables) -> Iterator[str]:
    """Hire lengths start at one day and factor 1; days go up, and factors never go down."""
    rows = tables["day_factors"]
    for entry, days in numbers(rows[:1], "hire_days"):
        if days != 1:
            yield entry.complaint("1 in the first row")
    for entry, factor in numbers(rows[:1], "hire_factor"):
        if factor != 1:
            yield entry.complaint("1 in the first row: the hire of the first day itself")
    for (_, above), (entry, days) in pairwise(numbers(rows, "hire_days")):
        if days <= above:
            yield entry.complaint(f"more days than in the row above ({above})")
    for (_, above), (entry, factor) in pairwise(numbers(rows, "hire_factor")):
        if factor < above:
            yield entry.complaint(f"no less than the factor of a shorter hire ({above})")


def check_vehicle_heavier_than_load(figures: Entries, tables: Tables) -> Iterator[str]:
    """The gross weight includes the vehicle, so it is above the payload."""
    for _, payload in numbers([figures], "payload"):
        for entry, gross_weight in numbers([figures], "gross_weight"):
            if gross_weight <= payload:
                yield entry.complaint(f"more than the payload ({payload}), since it counts the vehicle too")


def check_carts_within_payload(figures: Entries, tables: Tables) -> Iterator[str]:
    """A full cart that the vehicle may not carry would never get to a job: fewer go on it."""
    room = _room(figures)
    if room is None:
        return
    for table, weight_column, count_column in CARTS:
        for row in tables[table]:
            for _, weight in numbers([row], weight_column):
                for entry, count in numbers([row], count_column):
                    if count * weight > room:
                        yield entry.complaint(
                            f"at most {max(ZERO, room // weight)}, since a full cart would weigh more than the payload "
                            "leaves beside the tools: split it"
                        )


CARTS = (("kinds", "panel_weight", "panels_per_cart"), ("subfloors", "sheet_weight", "sheets_per_cart"))
"""What goes on carts: the table, and its columns for the weight of one and for how many go on a cart."""


def _room(figures: Entries) -> Decimal | None:
    """What the payload leaves for the load of one cart; None where the payload cannot be used.

    A weight that a card of an earlier version does not state is not held against it.
    """
    stated = [
        weight
        for name in ("tools_weight", "cart_weight")
        for entry, weight in numbers([figures], name)
        if entry.found is not None
    ]
    return next((payload - sum(stated) for _, payload in numbers([figures], "payload")), None)


def check_room_to_dance(figures: Entries, tables: Tables) -> Iterator[str]:
    """A size reckoned with less for a dancer than standing space would at once be warned of as crowded.

    A card of an earlier version does not state the standing space: sizes are never suggested below it all the same.
    """
    for stated, standing in numbers([figures], "crowding_area"):
        for entry, dancing in numbers([figures], "area_per_dancer"):
            if stated.found is not None and dancing < standing:
                yield entry.complaint(
                    f"at least the standing space ({standing}): with less, the quote would warn of a crowd on every "
                    "floor of the size that it suggests"
                )


def texts(rows: list[Entries], name: str) -> Iterator[tuple[Entry, str]]:
    """The usable entries of a column of texts, each with its text."""
    for entry in (row[name] for row in rows if name in row):
        if isinstance(entry.value, str):
            yield entry, entry.value


def numbers(rows: list[Entries], name: str) -> Iterator[tuple[Entry, Decimal]]:
    """The usable entries of a column of numbers, each with its number."""
    for entry in (row[name] for row in rows if name in row):
        if isinstance(entry.value, Decimal):
            yield entry, entry.value


CHECKS = (
    check_rows_needed, check_codes_once, check_all_surfaces, check_subfloors_known, check_subfloor_where_needed,
    check_edging_complete, check_factors_ascending, check_vehicle_heavier_than_load, check_carts_within_payload,
    check_room_to_dance,
)  # fmt: skip
"""Every check of the card, in the order of its complaints."""
