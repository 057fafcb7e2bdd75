"""Commands for quotes: make a desk, issue, reissue, send."""

from datetime import date
from pathlib import Path

import click

from quotebook.cli.options import DAY, FILE, NUMBER, desk_option, progress, say


@click.command(epilog="Example: quotebook init my-desk")
@click.argument("folder", metavar="DIR", type=FILE)
@click.option("--metric", is_flag=True, help="Start from the example card in metres, euros and French.")
def init(folder: Path, metric: bool):
    """Make a desk: a rate card to fill in, a signing key, a folder for quotes."""
    from quotebook import desk

    made = desk.init(folder, "rate_card_metric.xlsx" if metric else "rate_card.xlsx")
    say(f"{made.folder} is ready. Its rate card holds an invented firm's figures, so that it works at once:")
    say(f"open {made.rate_card_path} and put in your own. Keep {made.key_path.name} to yourself, with a copy.")


@click.command(epilog="\b\nExample:\n  quotebook issue --date 2027-06-12 --surface grass --floor OAK-44:16x20")
@desk_option
@click.option("--client", help="Who asks.")
@click.option("--event", help="What for.")
@click.option("--date", "event_date", type=DAY, help="The day of the event.")
@click.option("--days", type=NUMBER, default="1", show_default=True, help="Days of hire.")
@click.option("--venue", help="Where.")
@click.option("--surface", help="grass, paving, 'hard indoors'...")
@click.option("--miles", type=NUMBER, help="One way, in the card's miles or km.")
@click.option("--flights", type=NUMBER, help="Flights of stairs.")
@click.option("--after-hours/--no-after-hours", help="Collect after hours.")
@click.option("--waiver/--no-waiver", "waiver_taken", help="Damage waiver.")
@click.option("--guests", type=NUMBER, help="Guests, for the caution on crowding.")
@click.option("--discount", type=NUMBER, default="0", metavar="PERCENT", help="Discount on the goods.")
@click.option("--email", default="", metavar="ADDRESS", help="Where it goes; kept for send.")
@click.option("--floor", "floors", multiple=True, metavar="FLOOR", help="CODE:WxL[:edging|:bare]; up to six times.")
@click.option("--requests", "requests_file", type=FILE, metavar="FILE", help="A list, .csv or .xlsx, one a row.")
@click.option("-o", "output", type=FILE, metavar="PATH", help="A copy there; of a list, a folder.")
def issue(desk, floors, requests_file, output, discount, email, **entries):
    """Price a request and write the client's workbook."""
    card = desk.card()
    if caution := desk.key_caution():
        click.echo(caution, err=True)
    if requests_file:
        enquiries = _enquiries_in(requests_file, card, floors, entries | {"email": email})
    else:
        enquiries = [_enquiry(card, floors, discount / 100, entries, email)]
    for path, content, remarks in _issued(desk, card, enquiries, output, bool(requests_file)):
        owner, total = content.owner, content.results["total"]
        say(f"{owner['quote_number']}  {total:>12,} {card.firm.currency}  {path}")
        for remark in remarks:
            say(f"       {remark}")


def _enquiries_in(requests_file, card, floors, entries):
    from quotebook.quoting.requests import read_requests

    given = [name for name, value in entries.items() if value and name != "days"]
    if floors or given:
        raise click.UsageError(
            "--requests takes every request from its file: leave out " + ", ".join(given or ["--floor"])
        )
    return read_requests(requests_file, card)


def _enquiry(card, floors, discount_share, entries, email):
    from quotebook.engine.model import LINES
    from quotebook.quoting.mail import checked
    from quotebook.quoting.mixing import floor_lines
    from quotebook.quoting.requests import Enquiry, floor_entries, valid_request

    if not floors:
        raise click.UsageError("Say which floor is asked for: --floor CODE:WIDTHxLENGTH, or --requests FILE")
    lines = [line for text in floors for line in floor_lines(text, card, entries["surface"] or "")]
    if len(lines) > LINES:
        raise click.UsageError(f"A quote holds up to {LINES} floors; {len(lines)} were given")
    entries |= {"discount_share": discount_share}
    for number, line in enumerate(lines, 1):
        entries |= floor_entries(number, line)
    return Enquiry(valid_request(card, entries), email and checked(email))


def _issued(desk, card, enquiries, output, many: bool):
    """Each quote's path, its content and what the owner should know of it, written one after another."""
    from quotebook.bookings.archive import ledger_of
    from quotebook.bookings.availability import fit, say_fit
    from quotebook.bookings.decisions import issue_and_record, numbers
    from quotebook.engine.visits import Job
    from quotebook.quoting.advising import say_cautions
    from quotebook.quoting.issuing import copy_to
    from quotebook.quoting.mail import remember

    for_client = (lambda path: output / path.name) if many else lambda path: output
    if output and many:
        output.mkdir(parents=True, exist_ok=True)
    done, ledger = [], ledger_of(desk)
    with progress(list(zip(enquiries, numbers(desk, ledger))), "Issuing") as bar:
        for enquiry, number in bar:
            path, content = issue_and_record(desk, ledger, card, enquiry.request, number, date.today())
            if enquiry.email:
                remember(desk, number, enquiry.email)
            path = copy_to(for_client(path), path) if output else path
            job = Job(number, 1, card.rates, enquiry.request)
            found = fit(ledger, card, job.request, job.figures)
            done.append((path, content, [*_notes(content), *say_fit(found), *say_cautions(card, job)]))
    return done


def _notes(content):
    """The notes and cautions that stand on the quote."""
    for name, text in content.results.items():
        if isinstance(text, str) and text.strip() and name.startswith(("notes_", "caution_")):
            line = f"floor {name[-1]}: " if name.startswith("notes_") else ""
            yield line + text.strip()


@click.command(epilog="Example: quotebook reissue returned/Q0002-larger.xlsx")
@desk_option
@click.option(
    "--accept", multiple=True, metavar="FINDING:NAME", help="A disputed finding to let pass; repeat for more."
)
@click.option("--discount", type=NUMBER, metavar="PERCENT", help="Another discount on the goods.")
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write the workbook here.")
@click.argument("file", type=FILE)
def reissue(desk, accept, discount, output, file):
    """Write the next revision from a returned workbook.

    It takes the client's entries. Rates and formulas are your own, whatever is
    accepted: accepting a finding about them only lets the rest go on.
    """
    from quotebook.bookings.archive import ledger_of
    from quotebook.bookings.decisions import reissue_and_record
    from quotebook.checking.report import replies_in_words
    from quotebook.quoting.issuing import copy_to

    share = None if discount is None else discount / 100
    done = reissue_and_record(desk, ledger_of(desk), file, accept=accept, discount_share=share)
    owner, total = done.content.owner, done.content.results["total"]
    path = copy_to(output, done.path) if output else done.path
    say(f"{owner['quote_number']} revision {int(owner['revision'])}: {total:,}, before {done.before:,}: {path}")
    for sentence in done.changes:
        say(f"  {sentence}")
    for finding in done.accepted:
        say(f"  Let pass, and not taken over: {finding.message}")
    for line in replies_in_words(done.replies):
        say(line)


@click.command(epilog="Example: quotebook send issued/Q0001-r1.xlsx --to client@post.example")
@desk_option
@click.option("--to", "address", metavar="ADDRESS", default="", help="Whom to.  [default: the address of the request]")
@click.option("-o", "output", type=FILE, metavar="FILE.eml", help="The draft.  [default: beside the workbook]")
@click.argument("file", type=FILE)
def send(desk, address, output, file):
    """Write a mail draft with a quote attached, for your mail program.

    Nothing is sent: open the draft, read it, and send it yourself.
    """
    from quotebook.quoting import mail

    message = mail.draft(desk, file, address)
    draft = mail.write_draft(message, output or file.with_suffix(".eml"))
    say(f"{draft} is a draft to {message['To']}. Open it in your mail program, read it and send it.")
