"""The command that brings a rate card up to date."""

from datetime import datetime
from typing import TYPE_CHECKING

import click

from quotebook.cli.options import desk_option, say

if TYPE_CHECKING:
    from quotebook.desk import Desk


@click.command("update-card", epilog="Example: quotebook update-card --unit m")
@desk_option
@click.option("--unit", type=click.Choice(("ft", "m")), help="Convert every entry to this unit of length.")
@click.option("--as-entered", is_flag=True, help="The entries are in the card's unit already.")
def update_card(desk: "Desk", unit: str | None, as_entered: bool) -> None:
    """Bring a rate card of an earlier version up to date, keeping every entry.

    The card as it was is kept beside it. Figures that it had no cell for get the
    value that it counted as saying; look at them.
    """
    from quotebook.rate_card.renewing import renew, unit_of_card

    if unit and as_entered:
        raise click.UsageError("--unit converts the entries, --as-entered leaves them: give one of them")
    path = desk.rate_card_path
    on_card = unit_of_card(path)
    entries_in = on_card if as_entered else desk.unit_of_entries() or on_card
    if not unit and entries_in != on_card:
        raise click.UsageError(
            f"the card says {on_card} and its entries are in {entries_in}: give --unit {on_card}, or --as-entered"
        )
    kept = path.with_name(f"{path.stem} before {datetime.now():%Y-%m-%d %H%M%S}.xlsx")
    added = renew(path, kept, entries_in, unit or on_card)
    desk.note_unit(unit or on_card)
    say(f"{path} is up to date; the card as it was is {kept.name}.")
    if unit and unit != entries_in:
        say(
            f"Every length, weight and distance is converted from {entries_in} to {unit}: look at them, and round them."
        )
        say(
            f"Lists of requests are not converted: a heading that says {entries_in} is refused, and sizes under one "
            f"without a unit count as {unit} from now on."
        )
    if added:
        say("New on it: " + ", ".join(added) + ".")
