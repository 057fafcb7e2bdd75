"""The command for a crew's day."""

from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

import click

from quotebook.cli.options import DAY, FILE, NUMBER, desk_option, say


class Clock(click.ParamType):
    """A time of day as HH:MM."""

    name = "HH:MM"

    def convert(self, value, param, context):
        try:
            return datetime.strptime(value, "%H:%M").time() if isinstance(value, str) else value
        except ValueError:
            self.fail(f"{value!r} is no time of day: write it as 08:00", param, context)


@click.command(epilog="\b\nExample:\n  quotebook day 2027-06-12 --quote Q0001 --ics 2027-06-12.ics")
@desk_option
@click.option(
    "--quote", "numbers", multiple=True, metavar="NUMBER", help="This quote, agreed or not; repeat, in order."
)
@click.option(
    "--set-up", "set_up", type=Clock(), default="08:00", show_default=True, help="Leave for the first set-up."
)
@click.option("--strike", type=Clock(), default="17:00", show_default=True, help="Leave for the first strike.")
@click.option("--late", type=Clock(), default="22:00", show_default=True, help="Leave for strikes after hours.")
@click.option("--speed", type=NUMBER, metavar="N", help="Miles or km an hour.  [assumed: 30 or 45]")
@click.option("--ics", type=FILE, metavar="FILE", help="Also a calendar file of set-up and strike.")
@click.option("--overwrite", is_flag=True, help="Replace files that are there already.")
@click.option("-o", "output", type=FILE, metavar="FILE", help="The workbook.  [default: day-DATE.xlsx]")
@click.argument("day", metavar="DATE", type=DAY)
def day(desk, numbers, speed, ics, overwrite, output, day, **starts):
    """Write the day sheet for the crew: what is agreed for that day, to load and lay by."""
    from quotebook.bookings.archive import ledger_of
    from quotebook.bookings.jobs import jobs_on
    from quotebook.crew.calendar_file import calendar_of
    from quotebook.crew.day_sheet import write_day_sheet
    from quotebook.engine.visits import SPEEDS, visits
    from quotebook.files import atomically

    if speed is not None and not 1 <= speed <= 1000:
        raise click.UsageError(f"--speed is {speed}; allowed: a number from 1 to 1000")
    card = desk.card()
    jobs = jobs_on(desk, ledger_of(desk), day, numbers)
    if not jobs:
        say(f"Nothing is agreed for {day}. For a quote that is not agreed yet: quotebook day {day} --quote NUMBER")
        return
    speed = speed or SPEEDS[card.firm.length_unit]
    planned = visits(jobs, day, speed, starts)
    output = output or Path(f"day-{day}.xlsx")
    with ExitStack() as files:
        workbook = files.enter_context(atomically(output, overwrite))
        calendar = files.enter_context(atomically(ics, overwrite)) if ics else None
        with workbook.open("wb") as file:
            write_day_sheet(file, card, day, planned, speed)
        if calendar:
            calendar.write_bytes(calendar_of(card.firm, planned))
    for visit in planned:
        place = visit.job.request.venue or visit.job.request.client
        say(
            f"{visit.arrive:%H:%M} to {visit.done:%H:%M}  {visit.what.replace('_', ' '):7}  {visit.job.quote_number}  {place}"
        )
    say(f"{output}" + (f", {ics}" if ics else ""))
