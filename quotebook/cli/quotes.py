"""Commands for quotes: make a desk, issue, reissue, send."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from quotebook.cli.options import (
    FILE,
    asking,
    clear_progress,
    complain,
    day,
    desk_option,
    number,
    progress,
    returned_workbook,
    say,
    sure_option,
)

if TYPE_CHECKING:
    from quotebook.bookings.availability import Fit
    from quotebook.contract.stamp import Content
    from quotebook.desk import Desk
    from quotebook.engine.model import RateCard
    from quotebook.engine.visits import Job
    from quotebook.quoting.requests import Enquiry


@click.command(epilog="Example: quotebook init my-desk")
@click.argument("folder", metavar="DIR", type=FILE)
@click.option("--metric", is_flag=True, help="Start from the example card in metres, euros and French.")
def init(folder: Path, metric: bool) -> None:
    """Make a desk: a rate card to fill in, a signing key, a folder for quotes."""
    from quotebook import desk

    made = desk.init(folder, "rate_card_metric.xlsx" if metric else "rate_card.xlsx")
    say(f"{made.folder} is ready. Its rate card has an invented firm's figures, so you can try it at once.")
    say(f"Open {made.rate_card_path} and enter your own. Keep {made.key_path.name} secret, and keep a copy of it.")


@click.command(epilog="\b\nExample:\n  quotebook issue --date 2027-06-12 --surface grass --floor OAK-44:16x20")
@desk_option
@click.option("--client", help="Name of the client.")
@click.option("--event", help="Name of the event.")
@click.option("--date", "event_date", type=day, metavar="YYYY-MM-DD", help="First day of the event.")
@click.option("--days", type=number, default="1", show_default=True, help="Days of hire.")
@click.option("--venue", help="Place of the event.")
@click.option("--surface", help="grass, paving, 'hard indoors'...")
@click.option("--miles", type=number, help="Distance one way, in the card's miles or km.")
@click.option("--flights", type=number, help="Flights of stairs.")
@click.option("--after-hours/--no-after-hours", help="Collect after hours.")
@click.option("--waiver/--no-waiver", "waiver_taken", help="Damage waiver.")
@click.option("--raised/--not-raised", help="On a deck, pool, stage or roof, or over a room.")
@click.option("--guests", type=number, help="Number of guests, for the caution on crowding.")
@click.option("--discount", type=number, default="0", metavar="PERCENT", help="Discount on the goods.")
@click.option("--email", default="", metavar="ADDRESS", help="The client's address, kept for send.")
@click.option("--floor", "floors", multiple=True, metavar="FLOOR", help="CODE:WxL[:edging|:bare]; up to six.")
@click.option("--requests", "requests_file", type=FILE, metavar="FILE", help="Issue a list, .csv or .xlsx.")
@click.option("-o", "output", type=FILE, metavar="PATH", help="Copy to this file, or a list to this folder.")
@sure_option
def issue(
    desk: "Desk",
    floors: tuple[str, ...],
    requests_file: Path | None,
    output: Path | None,
    discount: Decimal,
    email: str,
    surface: str | None,
    sure: bool,
    **entries: object,
) -> None:
    """Price a request and write the client's workbook."""
    card = desk.card()
    if caution := desk.key_caution():
        click.echo(caution, err=True)
    if requests_file:
        given = {**entries, "surface": surface, "email": email, "floor": floors}
        enquiries = _enquiries_in(requests_file, card, given)
    else:
        enquiries = [_enquiry(card, floors, surface or "", {**entries, "discount_share": discount / 100}, email)]
    asking(lambda sure: _must_not_be_past(enquiries, sure), sure)
    done: list[str] = []
    try:
        for issued in _issue_all(desk, card, enquiries, output, bool(requests_file)):
            clear_progress()
            _say_issued(issued, card)
            done.append(issued.number)
    except BaseException:
        if len(enquiries) > 1:
            named = f"{done[0]} to {done[-1]} are issued and recorded" if done else "nothing was issued"
            complain(f"quotebook: stopped after {len(done)} of {len(enquiries)} requests: {named}.")
        raise


def _must_not_be_past(enquiries: Sequence["Enquiry"], sure: bool) -> None:
    from quotebook.bookings.decisions import must_not_be_past

    for enquiry in enquiries:
        must_not_be_past(enquiry.request.event_date, sure=sure)


def _say_issued(issued: "_Issued", card: "RateCard") -> None:
    from quotebook.bookings.availability import say_fit
    from quotebook.contract.stamped import amount_of
    from quotebook.quoting.advising import say_cautions

    say(f"{issued.number}  {amount_of(issued.content, 'total'):>12,} {card.firm.currency}  {issued.path}")
    for note in (*_notes(issued.content), *say_fit(issued.fit), *say_cautions(card, issued.job)):
        say(f"       {note}")


def _enquiries_in(requests_file: Path, card: "RateCard", given: Mapping[str, object]) -> list["Enquiry"]:
    """The enquiries in a list. Raises click.UsageError if options say something about a request too."""
    from quotebook.quoting.requests import read_requests

    others = [name for name, value in given.items() if value and name != "days"]
    if others:
        raise click.UsageError("--requests takes every request from its file: leave out " + ", ".join(others))
    return read_requests(requests_file, card)


def _enquiry(
    card: "RateCard", floors: Sequence[str], surface: str, entries: Mapping[str, object], email: str
) -> "Enquiry":
    from quotebook.engine.model import LINES
    from quotebook.quoting.mail import valid_address
    from quotebook.quoting.mixing import floor_lines
    from quotebook.quoting.requests import Enquiry, floor_entries, valid_request

    if not floors:
        raise click.UsageError("Say which floor is asked for: --floor CODE:WIDTHxLENGTH, or --requests FILE")
    lines = [line for text in floors for line in floor_lines(text, card, surface)]
    if len(lines) > LINES:
        raise click.UsageError(f"A quote holds up to {LINES} floors; {len(lines)} were given")
    asked = {**entries, "surface": surface or None}
    for place, line in enumerate(lines, 1):
        asked |= floor_entries(place, line)
    return Enquiry(valid_request(card, asked), email and valid_address(email))


class _Issued(NamedTuple):
    number: str
    path: Path
    content: "Content"
    job: "Job"
    fit: "Fit"


def _issue_all(
    desk: "Desk", card: "RateCard", enquiries: Sequence["Enquiry"], output: Path | None, to_folder: bool
) -> Iterator[_Issued]:
    """Issue every enquiry, one after another, each with a copy at `output` or in that folder.

    Raises Misuse before anything is issued if a copy cannot be written there.
    """
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.availability import fit
    from quotebook.bookings.decisions import issue_next
    from quotebook.engine.visits import Job
    from quotebook.files import must_be_writable
    from quotebook.quoting.issuing import copy_to
    from quotebook.quoting.mail import keep_address

    def copy_of(path: Path) -> Path | None:
        return output / path.name if output and to_folder else output

    ledger = open_ledger(desk)
    if output and to_folder:
        output.mkdir(parents=True, exist_ok=True)
    if output:
        must_be_writable(output / ".quotebook" if to_folder else output)
    with progress(enquiries, "Issuing") as bar:
        for enquiry in bar:
            issued = issue_next(desk, ledger, card, enquiry.request, copy_of=copy_of)
            if enquiry.email:
                keep_address(desk, issued.number, enquiry.email)
            copy = copy_of(issued.path)
            path = copy_to(copy, issued.path) if copy else issued.path
            job = Job(issued.number, 1, card.rates, enquiry.request)
            yield _Issued(issued.number, path, issued.content, job, fit(ledger, card, job.request, job.figures))


def _notes(content: "Content") -> Iterator[str]:
    """The notes and cautions on the quote, a line each."""
    from quotebook.contract.vocabulary import on_line
    from quotebook.engine.cautions import CAUTIONS, ON_EVERY_QUOTE
    from quotebook.engine.model import LINES

    floors = {on_line("notes_#", line): f"floor {line}: " for line in range(1, LINES + 1)}
    told = {*floors, *(f"caution_{key}" for key in CAUTIONS if key not in ON_EVERY_QUOTE)}
    for name, text in content.results.items():
        if isinstance(text, str) and text.strip() and name in told:
            yield floors.get(name, "") + text.strip()


@click.command(epilog="Example: quotebook reissue returned/Q0002-larger.xlsx")
@desk_option
@click.option("--accept", multiple=True, metavar="FINDING:NAME", help="Accept this disputed finding; repeatable.")
@click.option("--discount", type=number, metavar="PERCENT", help="Grant another discount on the goods.")
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write the workbook here.")
@click.argument("file", type=FILE)
def reissue(desk: "Desk", accept: tuple[str, ...], discount: Decimal | None, output: Path | None, file: Path) -> None:
    """Write the next revision from a returned workbook.

    It has the client's entries, and your own rates and formulas. A disputed
    finding that you accept does not change those; it no longer stops you. FILE
    may be a mail message (.eml) with the workbook attached.
    """
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.decisions import reissue_and_record
    from quotebook.checking.report import replies_in_words
    from quotebook.contract.stamped import amount_of, papers_of
    from quotebook.files import must_be_writable
    from quotebook.quoting.issuing import copy_to

    share = None if discount is None else discount / 100
    if output:
        must_be_writable(output)
    with returned_workbook(file) as returned:
        done = reissue_and_record(desk, open_ledger(desk), returned, accept=accept, discount_share=share)
    papers, total = papers_of(done.content), amount_of(done.content, "total")
    path = copy_to(output, done.path) if output else done.path
    say(f"{papers.quote_number} revision {int(papers.revision)}: {total:,}, before {done.before:,}: {path}")
    for sentence in done.changes:
        say(f"  {sentence}")
    for finding in done.accepted:
        say(f"  Accepted, but not in the new revision: {finding.message}")
    for line in replies_in_words(done.replies):
        say(line)


@click.command(epilog="Example: quotebook send issued/Q0001-r1.xlsx --to client@post.example")
@desk_option
@click.option("--to", "address", metavar="ADDRESS", default="", help="The recipient.  [default: the request's address]")
@click.option("-o", "output", type=FILE, metavar="FILE.eml", help="The draft.  [default: beside the workbook]")
@click.argument("file", type=FILE)
def send(desk: "Desk", address: str, output: Path | None, file: Path) -> None:
    """Write a mail draft with a quote attached, for your mail program.

    Nothing is sent: open the draft, read it, and send it yourself.
    """
    from quotebook.quoting.mail import make_draft, write_draft

    message = make_draft(desk, file, address)
    path = write_draft(message, output or file.with_suffix(".eml"))
    say(f"{path} is a draft to {message['To']}. Open it in your mail program, read it and send it.")
