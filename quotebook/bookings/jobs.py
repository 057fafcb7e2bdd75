"""Finds the jobs of a day in the workbooks that a desk keeps."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path

from quotebook.bookings.archive import returned_path
from quotebook.checking.check import returned_quote
from quotebook.contract.stamp import Content, StampBroken, stamp_among, unseal
from quotebook.contract.stamped import language_of, papers_of
from quotebook.contract.wording import worldwide
from quotebook.desk import Desk
from quotebook.engine.loading import TooHeavy, weighed
from quotebook.engine.visits import Job
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.spreadsheets.reading import read_shared_texts


def job_of_file(desk: Desk, path: Path) -> Job:
    """The job in a workbook: its entries at the rates it was issued with. Raises Misuse and Unreadable.

    Of options it has the floors of the one that is picked, and those of every option.
    What an earlier version did not weigh weighs what the card says today.
    """
    comparison = returned_quote(path, desk)
    papers = papers_of(comparison.content)
    request = comparison.request.as_picked()
    rates, figures = comparison.issued_rates, comparison.expected
    if comparison.is_of_other_rules:
        rates = weighed(rates, desk.card().rates)
    language = language_of(comparison.content)
    job = Job(papers.quote_number, int(papers.revision), rates, request, figures, language)
    if request.event_date is None or not job.figures.days_counted:
        raise Misuse(f"{path}: has no date or no days of hire, and a day sheet needs both.")
    try:
        _ = job.loads
    except TooHeavy as error:
        raise Misuse(f"{path}: {error}, and reissue the quote.") from None
    return job


def signed_content(desk: Desk, number: str, revision: int) -> Content | None:
    """What was signed in a revision as it was issued; None where its file is not there, or its stamp is broken.

    It takes a third of the time that reading the whole workbook takes.
    """
    with suppress(StampBroken, OSError):
        return unseal(stamp_among(read_shared_texts(desk.issued_path(number, revision))) or [], desk.key())
    return None


def agreed_job(desk: Desk, ledger: Ledger, number: str) -> Job:
    """The job of a quote as it was agreed last, cancelled or not, or else as it was issued last. Raises Misuse."""
    agreement = ledger.life(number).agreement
    if agreement:
        return job_of_file(desk, returned_path(desk, agreement.sha256))
    return job_of_file(desk, _latest_path(desk, ledger, number))


def jobs_on(desk: Desk, ledger: Ledger, day: date, numbers: Sequence[str] = ()) -> list[Job]:
    """The jobs that are set up or struck on a day: every agreed quote's, or those of the quotes named.

    Named quotes need not be agreed, and keep the order given. Raises Misuse for a quote that was not
    issued here or is not on that day, and what `job_of_file` raises.
    """
    if numbers:
        jobs = [job_of_file(desk, _latest_path(desk, ledger, number)) for number in dict.fromkeys(numbers)]
        for job in jobs:
            if day not in (job.first_day, job.last_day):
                first, last, asked = map(worldwide, (job.first_day, job.last_day, day))
                raise Misuse(f"{job.quote_number} is set up on {first} and struck on {last}, not on {asked}.")
        return jobs
    return [job_of_file(desk, _agreed_path(desk, ledger, number)) for number in ledger.set_up_or_struck(day)]


def _agreed_path(desk: Desk, ledger: Ledger, number: str) -> Path:
    agreement = ledger.life(number).holding
    if agreement is None:
        raise Misuse(f"{number} is not agreed any more.")
    return returned_path(desk, agreement.sha256)


def _latest_path(desk: Desk, ledger: Ledger, number: str) -> Path:
    """The file that was agreed; if none is, the last revision issued. Raises Misuse if there is neither."""
    standing = ledger.standing(number)
    if standing and not standing.cancelled_at:
        return _agreed_path(desk, ledger, number)
    revision = desk.latest_revision(number)
    if not revision:
        raise Misuse(f"{number}: no quote of that number was issued here.")
    return desk.issued_path(number, revision)
