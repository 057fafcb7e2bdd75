"""Commands for quotes: make a desk, issue, reissue, send."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from quotebook import progress
from quotebook.cli.advice import sides
from quotebook.cli.options import (
    FILE,
    asking,
    complain,
    day,
    desk_option,
    number,
    percentage,
    returned_workbook,
    say,
    sparing,
    sure_option,
)

if TYPE_CHECKING:
    from quotebook.bookings.availability import Fit
    from quotebook.contract.local import Local
    from quotebook.contract.stamp import Content
    from quotebook.desk import Desk
    from quotebook.engine.model import RateCard
    from quotebook.engine.visits import Job
    from quotebook.quoting.requests import Enquiry


@click.command(epilog="Example: quotebook init my-desk")
@click.argument("folder", metavar="DIR", type=FILE)
@click.option("--metric", is_flag=True, help="Start from the example card in metres, euros and French.")
def init(folder: Path, metric: bool) -> None:
    """Make a desk: a rate card and a book of requests to fill in, a signing key, folders."""
    from quotebook import desk
    from quotebook.desk_books.setting_up import set_up

    made = desk.init(folder, "rate_card_metric.xlsx" if metric else "rate_card.xlsx")
    set_up(made)
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
@click.option("--after-hours", is_flag=True, help="Collect after hours.")
@click.option("--waiver/--no-waiver", "waiver_taken", help="Damage waiver.")
@click.option("--raised/--not-raised", help="Raised, or over a room.")
@click.option("--room", type=sides, metavar="WxL", help="Size of the room or tent.")
@click.option("--guests", type=number, help="Number of guests.")
@click.option("--discount", type=percentage, default="0", metavar="PERCENT", help="Discount on the goods.")
@click.option("--email", default="", metavar="ADDRESS", help="The client's address, kept for send.")
@click.option("--language", default="", metavar="LANGUAGE", help="en, es or fr, if not the rate card's.")
@click.option("--floor", "floors", multiple=True, metavar="FLOOR", help="[A=]CODE:WxL[:edging|:bare]; up to six.")
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
    language: str,
    surface: str | None,
    room: tuple[Decimal, Decimal] | None,
    sure: bool,
    **entries: object,
) -> None:
    """Price a request and write the client's workbook."""
    from quotebook.contract.local import local_for
    from quotebook.contract.stamped import amount_of

    card = desk.card()
    local = local_for(card.firm)
    if caution := desk.key_caution():
        click.echo(caution, err=True)
    if requests_file:
        given = {**entries, "surface": surface, "email": email, "language": language, "floor": floors, "room": room}
        enquiries = _enquiries_in(requests_file, card, given)
    else:
        entries["room_width"], entries["room_length"] = room or (None, None)
        enquiries = [_enquiry(card, floors, surface or "", {**entries, "discount_share": discount}, email)]
        enquiries = [replace(enquiry, language=_language(language)) for enquiry in enquiries]
    asking(lambda sure: _must_not_be_past(enquiries, sure), sure)
    rows = _rows_in(requests_file) if requests_file else ()
    done: list[str] = []
    noted: dict[str, list[str]] = {}
    try:
        for issued in _issue_all(desk, card, enquiries, output, rows):
            progress.clear()
            total = local.amount(amount_of(issued.content, "total"))
            say(f"{issued.number}  {total:>12} {card.firm.currency}  {issued.path}")
            for note in dict.fromkeys(_all_notes(issued, card)):
                noted.setdefault(note, []).append(issued.number)
            done.append(issued.number)
    except BaseException:
        if len(enquiries) > 1:
            named = f"{done[0]} to {done[-1]} are issued and recorded" if done else "nothing was issued"
            complain(f"quotebook: stopped after {len(done)} of {len(enquiries)} requests: {named}.")
        raise
    finally:
        for note, numbers in noted.items():
            say(f"       {note}" + (f" ({', '.join(numbers)})" if requests_file else ""))


def _must_not_be_past(enquiries: Sequence["Enquiry"], sure: bool) -> None:
    from quotebook.bookings.decisions import must_not_be_past

    for enquiry in enquiries:
        must_not_be_past(enquiry.request.event_date, sure=sure)


def _all_notes(issued: "_Issued", card: "RateCard") -> Iterator[str]:
    """The notes and cautions on the quote, what is not free for it, and the cautions for its crew."""
    from quotebook.bookings.availability import say_fit
    from quotebook.contract.local import local_for
    from quotebook.quoting.advising import say_cautions

    yield from _options(issued.content, local_for(card.firm))
    yield from _notes(issued.content)
    yield from say_fit(issued.fit)
    yield from say_cautions(card, issued.job)


def _enquiries_in(requests_file: Path, card: "RateCard", given: Mapping[str, object]) -> list["Enquiry"]:
    """The enquiries in a list. Raises click.UsageError if options say something about a request too."""
    from quotebook.quoting.request_rows import read_requests

    others = [name for name, value in given.items() if value and name != "days"]
    if others:
        raise click.UsageError("--requests takes every request from its file: leave out " + ", ".join(others))
    return read_requests(requests_file, card)


def _language(text: str) -> str:
    """One of the languages of quotes, or nothing. Raises click.BadParameter."""
    from quotebook.contract.words import LANGUAGES

    if text and text not in LANGUAGES:
        raise click.BadParameter(f"{text!r} is not one of {', '.join(LANGUAGES)}", param_hint="--language")
    return text


def _rows_in(requests_file: Path) -> list[dict[str, str]]:
    """What each row of a list asks for, by which it is known again: catching up issues none of them again."""
    from quotebook.quoting.request_list import read_request_list

    return [row.texts() for row in read_request_list(requests_file).rows]


def _enquiry(
    card: "RateCard", floors: Sequence[str], surface: str, entries: Mapping[str, object], email: str
) -> "Enquiry":
    from quotebook.engine.model import LINES
    from quotebook.quoting.mail import valid_address
    from quotebook.quoting.mixing import floor_lines
    from quotebook.quoting.requests import Enquiry, floor_entries, valid_request, with_first_option

    if not floors:
        raise click.UsageError("Say which floor is asked for: --floor CODE:WIDTHxLENGTH, or --requests FILE")
    lines = [line for text in floors for line in floor_lines(text, card, surface)]
    if len(lines) > LINES:
        raise click.UsageError(f"A quote holds up to {LINES} floors; {len(lines)} were given")
    asked = {**entries, "surface": surface or None}
    for place, line in enumerate(lines, 1):
        asked |= floor_entries(place, line)
    return Enquiry(valid_request(card, with_first_option(asked)), email and valid_address(email))


class _Issued(NamedTuple):
    number: str
    path: Path
    content: "Content"
    job: "Job"
    fit: "Fit"


def _issue_all(
    desk: "Desk",
    card: "RateCard",
    enquiries: Sequence["Enquiry"],
    output: Path | None,
    rows: Sequence[Mapping[str, str]],
) -> Iterator[_Issued]:
    """Issue every enquiry, one after another, each with a copy at `output`, or in that folder if they are rows.

    Raises Misuse before anything is issued if a copy cannot be written there.
    """
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.availability import fit
    from quotebook.bookings.decisions import issue_next
    from quotebook.desk_books.kept_requests import keep_request
    from quotebook.engine.visits import Job
    from quotebook.files import must_be_writable
    from quotebook.quoting.issuing import copy_to
    from quotebook.quoting.mail import keep_address

    def copy_of(path: Path) -> Path | None:
        return output / path.name if output and rows else output

    ledger = open_ledger(desk)
    if output and rows:
        output.mkdir(parents=True, exist_ok=True)
    if output:
        must_be_writable(output / ".quotebook" if rows else output)
    for place, enquiry in enumerate(sparing(progress.watched(enquiries, "Issuing"))):

        def keep(number: str, row: Mapping[str, str] | None = rows[place] if rows else None) -> None:
            if row is not None:
                keep_request(desk, number, row)

        own = enquiry.card_from(card)
        issued = issue_next(desk, ledger, own, enquiry.request, copy_of=copy_of, reserved=keep)
        if enquiry.email:
            keep_address(desk, issued.number, enquiry.email)
        copy = copy_of(issued.path)
        path = copy_to(copy, issued.path) if copy else issued.path
        job = Job(issued.number, 1, own.rates, enquiry.request.as_picked())
        yield _Issued(issued.number, path, issued.content, job, fit(ledger, card, job.request, job.figures))


def _options(content: "Content", local: "Local") -> Iterator[str]:
    """The options of the quote, a line each."""
    from quotebook.contract.stamped import options_of

    for offered in options_of(content):
        picked = ", picked" if offered.option == content.inputs["picked"] else ""
        yield f"option {offered.option}{picked}: {local.amount(offered.total)}. {offered.what} {offered.note}".rstrip()


def _notes(content: "Content") -> Iterator[str]:
    """The notes and cautions on the quote, a line each, without those of options that are not picked."""
    from quotebook.contract.stamped import request_as_issued
    from quotebook.contract.vocabulary import on_line
    from quotebook.engine.cautions import CAUTIONS, ON_EVERY_QUOTE
    from quotebook.engine.model import LINES

    request = request_as_issued(content)
    counted = (line for line in range(1, LINES + 1) if not request.leaves_out(request.every_line[line - 1]))
    floors = {on_line("notes_#", line): f"floor {line}: " for line in counted}
    told = {*floors, *(f"caution_{key}" for key in CAUTIONS if key not in ON_EVERY_QUOTE)}
    for name, text in content.results.items():
        if isinstance(text, str) and text.strip() and name in told:
            yield floors.get(name, "") + text.strip()


@click.command(epilog="Example: quotebook reissue returned/Q0002-larger.xlsx")
@desk_option
@click.option("--accept", multiple=True, metavar="FINDING:NAME", help="Accept this disputed finding; repeatable.")
@click.option("--discount", type=percentage, metavar="PERCENT", help="Grant another discount on the goods.")
@click.option("--new-rates", is_flag=True, help="Take the card's rates though the quote's still stand.")
@click.option("-o", "output", type=FILE, metavar="FILE", help="Also write the workbook here.")
@click.argument("named", metavar="FILE|QUOTE")
def reissue(
    desk: "Desk",
    accept: tuple[str, ...],
    discount: Decimal | None,
    new_rates: bool,
    output: Path | None,
    named: str,
) -> None:
    """Write the next revision from a returned workbook.

    QUOTE is a number: then the last file that came back of it and was checked,
    or the quote as issued if none did; FILE may be a mail message (.eml) with
    the workbook attached.

    While the quote is valid its rates, taxes and terms stand; after its last
    day the card's are taken. The revision has the client's entries and your own
    formulas. A disputed finding that you accept no longer stops you.
    """
    from quotebook.bookings.archive import open_ledger
    from quotebook.bookings.decisions import reissue_and_record
    from quotebook.bookings.finding import answered_file
    from quotebook.checking.report import replies_in_words
    from quotebook.contract.local import local_for
    from quotebook.contract.stamped import amount_of, papers_of
    from quotebook.files import must_be_writable
    from quotebook.quoting.issuing import copy_to

    if output:
        must_be_writable(output)
    ledger = open_ledger(desk)
    with returned_workbook(answered_file(desk, ledger, named)) as returned:
        done = reissue_and_record(desk, ledger, returned, accept=accept, discount_share=discount, new_rates=new_rates)
    papers, local = papers_of(done.content), local_for(desk.card().firm)
    total, before = local.amount(amount_of(done.content, "total")), local.amount(done.before)
    path = copy_to(output, done.path) if output else done.path
    say(f"{papers.quote_number} revision {int(papers.revision)}: {total}, before {before}: {path}")
    say(f"  {done.rates_said}")
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
@click.argument("named", metavar="FILE|QUOTE")
def send(desk: "Desk", address: str, output: Path | None, named: str) -> None:
    """Write a mail draft with a quote attached, for your mail program.

    QUOTE is a number: then the last revision of that quote as issued.
    Nothing is sent: open the draft, read it, and send it yourself.
    """
    from quotebook.bookings.finding import issued_file
    from quotebook.quoting.mail import make_draft, write_draft

    file = issued_file(desk, named)
    message = make_draft(desk, file, address)
    path = write_draft(message, output or file.with_suffix(".eml"))
    say(f"{path} is a draft to {message['To']}. Open it in your mail program, read it and send it.")
