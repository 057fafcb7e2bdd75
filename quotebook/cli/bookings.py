"""Commands for what is agreed: agree, cancel, deliver, count back, and what is free."""

from datetime import timedelta

import click

from quotebook.cli.options import DAY, FILE, complain, desk_option, json_option, say, say_json

LONGEST = 3700
"""Days of stock in one table: ten years and a little."""


class Counted(click.ParamType):
    """A kind and how many, as CODE:N."""

    name = "CODE:N"

    def convert(self, value, param, context):
        if isinstance(value, tuple):
            return value
        name, _, count = value.rpartition(":")
        if not (name and count.isdecimal() and len(count) < 7):
            self.fail(f"{value!r}: write the code, a colon and how many, such as OAK-44:2", param, context)
        return name, int(count)


@click.command(epilog="Example: quotebook agree returned/Q0001-accepted.xlsx")
@desk_option
@click.option(
    "--accept", multiple=True, metavar="FINDING:NAME", help="A disputed finding to let pass; repeat for more."
)
@click.argument("file", type=FILE)
def agree(desk, accept, file):
    """Agree a returned quote, and hold its panels for the date.

    They are held from the day before the event to the end of turnaround. A
    disputed file needs each of its findings accepted by name.
    """
    from quotebook.bookings import archive as keeping
    from quotebook.bookings import decisions as booking
    from quotebook.bookings.availability import say_instead
    from quotebook.ledger.recording import NotEnough

    ledger = keeping.ledger_of(desk)
    try:
        done = booking.agree(desk, ledger, desk.card(), file, accept)
    except NotEnough as error:
        complain(f"quotebook: {error}")
        for line in say_instead(booking.alternatives_for(desk, ledger, file, error.quote_number)):
            complain(f"  {line}")
        raise SystemExit(error.status) from None
    say_agreed(done)


def say_agreed(done):
    quote = done.quote
    for finding in done.accepted:
        say(f"  Let pass, at the rates as issued: {finding.message}")
    already = "" if done.new else " (it was already)"
    total = _amount(quote)
    say(f"{quote.quote_number} revision {quote.revision} is agreed{already}: {total} {quote.currency}.")
    say(f"  Held from {quote.held_from} to {quote.held_to}.")


def _amount(quote):
    from quotebook.ledger.records import in_major_units

    return f"{in_major_units(quote.total, quote.minor_units):,}"


@click.command(epilog="Example: quotebook cancel Q0001")
@desk_option
@click.argument("number", metavar="QUOTE")
def cancel(desk, number):
    """Cancel what was agreed; its panels are free again."""
    from quotebook.bookings import archive as keeping
    from quotebook.bookings import decisions as booking

    new = booking.cancel(desk, keeping.ledger_of(desk), number)
    say(f"{number} {'is' if new else 'was already'} cancelled, and holds nothing.")


@click.command(epilog="Example: quotebook deliver Q0001")
@desk_option
@click.argument("number", metavar="QUOTE")
def deliver(desk, number):
    """Record that what was agreed went out."""
    from quotebook.bookings import archive as keeping
    from quotebook.bookings import decisions as booking

    new = booking.deliver(desk, keeping.ledger_of(desk), number)
    say(f"{number} {'is' if new else 'was already'} recorded as delivered.")


@click.command("count-back", epilog="Example: quotebook count-back Q0001 --damaged OAK-44:1")
@desk_option
@click.option("--damaged", type=Counted(), multiple=True, help="Came back unfit for hire; repeat for more.")
@click.option("--lost", type=Counted(), multiple=True, help="Did not come back; likewise.")
@click.argument("number", metavar="QUOTE")
def count_back(desk, damaged, lost, number):
    """Record what came back, and what did not.

    A code alone means panels or subfloor sheets; of edging write corners/OAK-44:1,
    slot_pieces/OAK-44:2 or tongue_pieces/OAK-44:2.
    """
    from quotebook.bookings import archive as keeping
    from quotebook.bookings import decisions as booking

    losses = booking.losses_of(desk.card(), damaged, lost)
    new = booking.count_back(desk, keeping.ledger_of(desk), number, losses)
    say(f"{number} {'is' if new else 'was already'} counted back.")
    for loss in losses:
        say(f"  {loss.item}: {loss.damaged} damaged, {loss.lost} lost; they have left the stock.")


@click.command("quotes", epilog="Example: quotebook quotes --json")
@desk_option
@json_option
def list_quotes(desk, as_json):
    """List every quote that was issued, and how it stands."""
    from quotebook.bookings import archive as keeping
    from quotebook.text_table import table

    rows = [_listed(one) for one in keeping.ledger_of(desk).listed()]
    if as_json:
        say_json({"quotes": rows})
        return
    names = ("quote_number", "revision", "state", "event_date", "client")
    shown = [(*(str(row[name])[:26] for name in names), f"{row['total']} {row['currency']}") for row in rows]
    for line in table(("Quote", "Rev", "State", "Event", "Client", "Total"), shown, left=5):
        say(line)


def _listed(one):
    from quotebook.ledger.records import in_major_units

    quote = one.quote
    return {
        "quote_number": quote.quote_number,
        "revision": quote.revision,
        "state": one.state,
        "event_date": str(quote.event_date),
        "client": " ".join(quote.client.split()),
        "total": str(in_major_units(quote.total, quote.minor_units)),
        "currency": quote.currency,
    }


@click.command(epilog="Example: quotebook stock --from 2027-06-10 --to 2027-06-16")
@desk_option
@click.option("--from", "first", type=DAY, required=True, help="The first day.")
@click.option("--to", "last", type=DAY, help="The last day.  [default: the first]")
@click.option("--kind", "kinds", multiple=True, metavar="CODE", help="Only this kind; repeat for more.")
@click.option("--all", "everything", is_flag=True, help="Edging, corners, sheets and carts as well.")
@click.option("--csv", "as_csv", is_flag=True, help="Print CSV instead of a table.")
@json_option
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also a workbook calendar of everything.")
def stock(desk, first, last, kinds, everything, as_csv, as_json, output):
    """Show what is free on each day, turnaround counted."""
    from quotebook.bookings import archive as keeping
    from quotebook.bookings import availability
    from quotebook.bookings.stock_workbook import write_stock
    from quotebook.engine.stock import owned
    from quotebook.files import atomically

    last = last or first
    if not 0 <= (last - first).days <= LONGEST:
        raise click.UsageError("--to must be --from or later, by ten years at most")
    card = desk.card()
    wanted = _panels(card, kinds)
    by_day = availability.free_by_day(keeping.ledger_of(desk), card, first, last)
    if output:
        with atomically(output) as path, open(path, "wb") as file:
            write_stock(file, card.firm, owned(card), by_day, first)
    chosen = {
        item: each
        for item, each in by_day.items()
        if (item.what == "panels" or everything) and (item.code in wanted or not kinds)
    }
    if as_json:
        say_json(availability.to_json(chosen, first))
    elif as_csv:
        click.echo(availability.to_csv(chosen, first), nl=False)
    else:
        say_stock(chosen, first)


def _panels(card, kinds):
    """The card's own codes of the kinds named."""
    unknown = [code for code in kinds if card.rates.kind(code) is None]
    if unknown:
        raise click.UsageError(f"{unknown[0]} is not on the rate card: {', '.join(card.holdings)}")
    return {card.rates.kind(code).panel for code in kinds}


def say_stock(by_day, first):
    """An item a row and a day a column for up to a week, else the least of each."""
    from quotebook.text_table import table

    days = len(next(iter(by_day.values()), []))
    if days <= 7:
        headings = ["Free", *(f"{first + timedelta(day):%d %b}" for day in range(days))]
        rows = [[str(item), *map(str, each)] for item, each in by_day.items()]
    else:
        headings = ["Free", "least", "on"]
        rows = [
            [str(item), str(min(each)), str(first + timedelta(each.index(min(each))))] for item, each in by_day.items()
        ]
    for line in table(headings, rows):
        say(line)
