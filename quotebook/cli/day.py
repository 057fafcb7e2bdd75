"""The command for a crew's day."""

from contextlib import ExitStack
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from quotebook.cli import options
from quotebook.cli.options import FILE, desk_option, number, say

if TYPE_CHECKING:
    from quotebook.desk import Desk


def clock_time(text: str) -> time:
    """The time of day in an option's value, written HH:MM. Raises click.BadParameter."""
    try:
        return datetime.strptime(text, "%H:%M").time()
    except ValueError:
        raise click.BadParameter(f"{text!r} is not a time of day: write it as 08:00") from None


@click.command(epilog="\b\nExample:\n  quotebook day 2027-06-12 --quote Q0001 --ics 2027-06-12.ics")
@desk_option
@click.option("--quote", "numbers", multiple=True, metavar="NUMBER", help="Only this quote, agreed or not; repeatable.")
@click.option(
    "--set-up", type=clock_time, metavar="HH:MM", default="08:00", show_default=True, help="Leave for set-ups."
)
@click.option(
    "--strike", type=clock_time, metavar="HH:MM", default="17:00", show_default=True, help="Leave for strikes."
)
@click.option(
    "--late", type=clock_time, metavar="HH:MM", default="22:00", show_default=True, help="Leave for late strikes."
)
@click.option("--speed", type=number, metavar="N", help="Miles or km an hour.  [default: 30 or 45]")
@click.option("--ics", type=FILE, metavar="FILE", help="Also write a calendar file of set-up and strike.")
@click.option("--overwrite", is_flag=True, help="Replace files that are already there.")
@click.option("-o", "output", type=FILE, metavar="FILE", help="The workbook.  [default: day-DATE.xlsx]")
@click.argument("day", metavar="DATE", type=options.day)
def day(
    desk: "Desk",
    numbers: tuple[str, ...],
    set_up: time,
    strike: time,
    late: time,
    speed: Decimal | None,
    ics: Path | None,
    overwrite: bool,
    output: Path | None,
    day: date,
) -> None:
    """Write the crew's day sheet: what to load and lay for the quotes agreed for that day.

    No set-up is planned before the access that its row of requests names.
    """
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.jobs import jobs_on
    from quotebook.contract.local import local_for
    from quotebook.crew.calendar_file import calendar_of
    from quotebook.crew.day_sheet import write_day_sheet
    from quotebook.desk_books.kept_requests import access_from, kept_request
    from quotebook.engine.visits import SPEEDS, visits
    from quotebook.files import atomically

    if speed is not None and not 1 <= speed <= 1000:
        raise click.UsageError(f"--speed is {speed}; allowed: a number from 1 to 1000")
    card = desk.card()
    jobs = jobs_on(desk, open_ledger(desk), day, numbers)
    if not jobs:
        said = local_for(card.firm).day(day)
        say(f"Nothing is agreed for {said}. For a quote that is not agreed yet: quotebook day {day} --quote NUMBER")
        return
    speed = speed or SPEEDS[card.firm.length_unit]
    asked = {job.quote_number: kept_request(desk, job.quote_number) or {} for job in jobs}
    planned = visits(jobs, day, speed, {"set_up": set_up, "strike": strike, "late": late}, access_from(asked))
    output = output or Path(f"day-{day}.xlsx")
    with ExitStack() as files:
        workbook = files.enter_context(atomically(output, overwrite))
        calendar = files.enter_context(atomically(ics, overwrite)) if ics else None
        with workbook.open("wb") as file:
            write_day_sheet(file, card, day, planned, speed, asked)
        if calendar:
            calendar.write_bytes(calendar_of(card.firm, planned))
    for visit in planned:
        place = visit.job.request.venue or visit.job.request.client
        what = visit.what.replace("_", " ")
        say(f"{visit.arrive:%H:%M} to {visit.done:%H:%M}  {what:7}  {visit.job.quote_number}  {place}")
    say(f"{output}" + (f", {ics}" if ics else ""))
