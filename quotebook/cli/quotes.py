"""Commands for quotes: make a desk, issue, check what comes back."""

from datetime import date
from pathlib import Path

import click

from .parts import DAY, DISPUTED, FILE, NUMBER, desk_option, json_option, progress, say, say_json

VERDICT_COLOURS = {"agrees": "green", "changed": "yellow", "disputed": "red", "unreadable": "red"}


@click.command(epilog="Example: quotebook init my-desk")
@click.argument("folder", metavar="DIR", type=FILE)
@click.option("--metric", is_flag=True, help="Start from the example card in metres, euros and French.")
def init(folder: Path, metric: bool):
    """Make a desk: a rate card to fill in, a signing key, a folder for quotes."""
    from quotebook import desk

    made = desk.init(folder, "rate_card_metric.xlsx" if metric else "rate_card.xlsx")
    say(f"{made.folder} is ready. Its rate card holds an invented firm's figures, so that it works at once:")
    say(f"open {made.rate_card_path} and put in your own. Keep {made.key_path.name} to yourself, with a copy.")


@click.command(epilog="Example: quotebook issue --client 'A. Client' --date 2027-06-12 --days 1 --surface grass --floor LAWN-44:16x20")
@desk_option
@click.option("--client", help="Who asks.")
@click.option("--event", help="What for.")
@click.option("--date", "event_date", type=DAY, help="The day of the event.")
@click.option("--days", type=NUMBER, default="1", show_default=True, help="Days of hire.")
@click.option("--venue", help="Where.")
@click.option("--surface", help="grass, paving, 'hard indoors' or 'carpet indoors'.")
@click.option("--miles", type=NUMBER, help="Distance one way, in the card's miles or km.")
@click.option("--flights", type=NUMBER, help="Flights of stairs.")
@click.option("--after-hours/--no-after-hours", help="Collect after hours.")
@click.option("--waiver/--no-waiver", "waiver_taken", help="Damage waiver.")
@click.option("--guests", type=NUMBER, help="Guests, for the caution on crowding.")
@click.option("--discount", type=NUMBER, default="0", metavar="PERCENT", help="Discount on the goods.")
@click.option("--floor", "floors", multiple=True, metavar="CODE:WxL[:edging|:bare]", help="A floor; up to six times.")
@click.option("--requests", "requests_file", type=FILE, help="A .csv or .xlsx with one request a row.")
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write the workbook here (a folder, for --requests).")
def issue(desk, floors, requests_file, output, discount, **entries):
    """Price a request and write the client's workbook."""
    card = desk.card()
    if caution := desk.key_caution():
        click.echo(caution, err=True)
    if requests_file:
        requests = _requests_in(requests_file, card, floors, entries)
    else:
        requests = [_request(card, floors, discount / 100, entries)]
    for path, content in _issued(desk, card, requests, output, bool(requests_file)):
        owner, total = content.owner, content.results["total"]
        say(f"{owner['quote_number']}  {total:>12,} {card.firm.currency}  {path}")
        for note in _notes(content):
            say(f"       {note}")


def _requests_in(requests_file, card, floors, entries):
    from quotebook.requests import read_requests

    given = [name for name, value in entries.items() if value and name != "days"]
    if floors or given:
        raise click.UsageError("--requests takes every request from its file: leave out " + ", ".join(given or ["--floor"]))
    return [enquiry.request for enquiry in read_requests(requests_file, card)]


def _request(card, floors, discount_share, entries):
    from quotebook.engine.model import LINES
    from quotebook.requests import floor_entries, parse_floor, valid_request

    if not floors:
        raise click.UsageError("Say which floor is asked for: --floor CODE:WIDTHxLENGTH, or --requests FILE")
    if len(floors) > LINES:
        raise click.UsageError(f"A quote holds up to {LINES} floors; {len(floors)} were given")
    entries |= {"discount_share": discount_share}
    for number, text in enumerate(floors, 1):
        entries |= floor_entries(number, parse_floor(text, card, entries["surface"] or ""))
    return valid_request(card, entries)


def _issued(desk, card, requests, output, many: bool):
    """Each quote's path and content, written one after another."""
    from quotebook.issuing import issue as write
    from quotebook.issuing import copy_to

    for_client = (lambda path: output / path.name) if many else lambda path: output
    if output and many:
        output.mkdir(parents=True, exist_ok=True)
    done = []
    with progress(list(zip(requests, desk.numbers())), "Issuing") as bar:
        for request, number in bar:
            path, content = write(desk, card, request, number, date.today())
            done.append((copy_to(for_client(path), path) if output else path, content))
    return done


def _notes(content):
    """The notes and cautions that stand on the quote."""
    for name, text in content.results.items():
        if isinstance(text, str) and text.strip() and name.startswith(("notes_", "caution_")):
            line = f"floor {name[-1]}: " if name.startswith("notes_") else ""
            yield line + text.strip()


@click.command(epilog="Example: quotebook check returned/*.xlsx")
@desk_option
@json_option
@click.argument("files", nargs=-1, required=True, type=FILE, metavar="FILE...")
def check(desk, as_json, files):
    """Say what came back changed, and whether it still adds up."""
    from quotebook import report
    from quotebook.check import check_file

    desk.key()
    reports = []
    with progress(files, "Checking") as bar:
        for file in bar:
            reports.append(check_file(file, desk))
    if as_json:
        say_json(report.as_json(reports))
    else:
        for one in reports:
            say_report(one)
    verdicts = {one.verdict for one in reports}
    raise SystemExit(3 if "unreadable" in verdicts else DISPUTED if "disputed" in verdicts else 0)


def say_report(report):
    from quotebook.report import in_words

    first, *lines = in_words(report)
    say(first, VERDICT_COLOURS[report.verdict])
    say("\n".join(lines))


@click.command(epilog="Example: quotebook demo try-it")
@click.argument("folder", metavar="DIR", type=FILE)
def demo(folder: Path):
    """Run the whole job on invented events, and leave the files to open."""
    from quotebook import demo as scenario
    from quotebook.check import check_file

    desk, returned = scenario.run(folder, date.today())
    say(f"The desk is {desk.folder}; its quotes are in {desk.issued}.")
    say(f"Four clients answered, and their workbooks are in {returned[0].parent}. What the check says:")
    for file in returned:
        say("")
        say_report(check_file(file, desk))
