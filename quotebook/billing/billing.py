"""Writes a quote's bill, or the credit note that takes it back, and records it.

The workbook is written first and the record second: a file whose number was never recorded is no bill, and the
next one takes its number and its place. Numbers follow one another without gaps, whichever desk writes the bill.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from io import BytesIO
from pathlib import Path

from quotebook.billing.bill_workbook import BillPaper, write_bill
from quotebook.billing.items import (
    Change,
    agreed_items,
    bill_words,
    changed_items,
    kept_item,
    loss_items,
    taken_back_items,
)
from quotebook.bookings.archive import digest_of, record_event
from quotebook.bookings.jobs import agreed_job
from quotebook.bookings.payments import find_quote
from quotebook.contract.local import local_for, locale_of, say_day
from quotebook.contract.words import words_in
from quotebook.desk import Desk
from quotebook.engine.billing import BillFigures, Item, RateOfTax, bill_figures
from quotebook.engine.dues import deposit_kept
from quotebook.engine.model import RateCard
from quotebook.engine.money import in_major_units, in_minor_units, money
from quotebook.engine.visits import Job
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.bills import BillNumberTaken
from quotebook.ledger.events import Billed, Loss, now
from quotebook.ledger.listing import ListedQuote
from quotebook.ledger.states import BOOKED
from quotebook.quoting.issuing import logo_of
from quotebook.quoting.proving import prove
from quotebook.spreadsheets.reading import read_workbook

ATTEMPTS = 20
"""How often a bill is written anew because another desk took its number meanwhile."""


@dataclass(frozen=True)
class Written:
    """A bill or credit note that was written and recorded."""

    paper: BillPaper
    path: Path


def bill_file(desk: Desk, bill_number: str, digest: str) -> Path:
    """The workbook of a bill or credit note that was recorded with this SHA-256, which a desk keeps in `bills`.

    It has its name from the first time that somebody asks. Raises Misuse if it is missing, or was changed.
    """
    path, draft = desk.folder / "bills" / f"{bill_number}.xlsx", _draft_path(desk, digest)
    if draft.exists():
        draft.replace(path)
    if not path.exists() or digest_of(path.read_bytes()) != digest:
        raise Misuse(f"{path}: is not the bill that was recorded under that number. Put back your copy of it.")
    return path


def _draft_path(desk: Desk, digest: str) -> Path:
    return desk.folder / "bills" / f".{digest}.xlsx"


def bill(
    desk: Desk, ledger: Ledger, card: RateCard, number: str, today: date, changes: Sequence[Change] = ()
) -> Written:
    """Write and record the bill of an agreed quote, or of the deposit that is kept of a cancelled one.

    It is in the language of the quote. `changes` are what was agreed on the day. Raises Misuse if the quote has a bill
    that stands, nothing can be billed, or it would come to less than 0; and what the ledger raises.
    """
    quote = find_quote(ledger, number)
    if quote.bill:
        billed_on = local_for(card.firm).day(quote.bill.billed_on)
        raise Misuse(
            f"{number} was billed as {quote.bill.bill_number} on {billed_on}, and a bill is never changed. "
            f"To correct it, take it back (quotebook bill {number} --credit) and bill anew."
        )
    job = agreed_job(desk, ledger, number)
    card = card.in_language(job.language)
    words, locale = bill_words(job.language), locale_of(job.language, card.firm.region)
    items = _items(quote, job, card, _losses(ledger, number), changes, words)
    if not items:
        raise Misuse(f"{number} is {quote.state}, and there is nothing to bill.")
    payments = [
        (
            words[f"payment_{'back' if each.amount < 0 else each.towards}"].format(date=say_day(each.paid_on, locale)),
            each.amount,
        )
        for each in ledger.payments_of(number)
    ]
    paid = tuple((text, in_major_units(amount, quote.minor_units)) for text, amount in payments)
    with_tax = job.rates.prices_with_tax or quote.state == "cancelled"  # what is kept has its tax in it
    figures = bill_figures(items, [amount for _, amount in paid], with_tax, Decimal(quote.minor_units))
    if figures.total < 0:
        said = local_for(card.firm).amount(figures.total)
        raise Misuse(
            f"{number}: found a bill of {said} {quote.currency}; allowed: 0 or more. To correct a bill, take it back "
            f"(quotebook bill {number} --credit) and bill anew; to give money back, record it (quotebook pay --back)."
        )
    due_on = today + timedelta(days=int(card.payment_terms.bill_days))
    paper = _paper(quote, job, items, paid, figures, today, due_on)
    paper = replace(paper, prices_with_tax=with_tax, note=card.payment_terms.bill_note)
    return _write_and_record(desk, ledger, card, paper, quote)


def credit(desk: Desk, ledger: Ledger, card: RateCard, number: str, today: date, because: str = "") -> Written:
    """Write and record the credit note that takes back a quote's bill in full. Raises Misuse if no bill stands."""
    quote = find_quote(ledger, number)
    taken_back = quote.bill
    if taken_back is None:
        raise Misuse(f"{number} has no bill that stands, and nothing to take back.")
    job = agreed_job(desk, ledger, number)
    card = card.in_language(job.language)
    words, locale = bill_words(job.language), locale_of(job.language, card.firm.region)
    items = tuple(taken_back_items(taken_back, quote.minor_units, words))
    figures = bill_figures(items, (), taken_back.prices_with_tax, Decimal(quote.minor_units))
    paper = _paper(quote, job, items, (), figures, today, today)
    taken_back_on = say_day(taken_back.billed_on, locale)
    sentence = words["corrects"].format(number=taken_back.bill_number, date=taken_back_on)
    reason = " ".join(because.split())
    paper = replace(
        paper, corrects=sentence, because=reason and words["because"].format(because=reason),
        prices_with_tax=taken_back.prices_with_tax,
    )  # fmt: skip
    return _write_and_record(desk, ledger, card, paper, quote, corrects=taken_back.bill_number, because=reason)


def _items(
    quote: ListedQuote,
    job: Job,
    card: RateCard,
    losses: Sequence[Loss],
    changes: Sequence[Change],
    words: dict[str, str],
) -> tuple[Item, ...]:
    """What can be billed of a quote in its state; nothing for one that is not agreed, or cancelled for free."""
    if quote.state in BOOKED:
        unit = words_in(card.firm.language)["units"][card.firm.length_unit]["length"]
        agreed, changed = agreed_items(job, unit, words), changed_items(changes, job.rates, words)
        return (*agreed, *changed, *loss_items(losses, card, job, words))
    if quote.state == "cancelled" and quote.cancelled_on:
        deposit, paid = (in_major_units(each, quote.minor_units) for each in (quote.deposit, quote.paid))
        kept = deposit_kept(deposit, paid, quote.cancelled_on, quote.event_date, card.payment_terms)
        if amount := money(kept, quote.minor_units):
            return (kept_item(amount, quote.cancelled_on, card, job, words),)
    return ()


def _losses(ledger: Ledger, number: str) -> tuple[Loss, ...]:
    """What did not come back, by the last count."""
    agreement = ledger.life(number).holding
    return tuple(agreement.losses) if agreement else ()


def _paper(
    quote: ListedQuote,
    job: Job,
    items: tuple[Item, ...],
    payments: tuple[tuple[str, Decimal], ...],
    figures: BillFigures,
    billed_on: date,
    due_on: date,
) -> BillPaper:
    return BillPaper(
        bill_number="", billed_on=billed_on, due_on=due_on, quote_number=quote.quote_number, client=quote.client,
        event=quote.event, event_date=quote.event_date, venue=job.request.venue, items=items, payments=payments,
        figures=figures, prices_with_tax=False, minor_units=quote.minor_units, currency=quote.currency,
    )  # fmt: skip


def _write_and_record(
    desk: Desk,
    ledger: Ledger,
    card: RateCard,
    paper: BillPaper,
    quote: ListedQuote,
    corrects: str = "",
    because: str = "",
) -> Written:
    """Give a paper its number, write and prove its workbook, and record it; once more if its number was taken.

    Until it is recorded the workbook is named by its digest, so that two that are written at once are two files.
    """
    for _ in range(ATTEMPTS):
        numbered = replace(paper, bill_number=ledger.next_bill_number())
        written = BytesIO()
        content = write_bill(written, numbered, card.firm, logo_of(desk, card), bill_words(card.firm.language))
        digest = digest_of(written.getvalue())
        draft = _draft_path(desk, digest)
        draft.parent.mkdir(exist_ok=True)
        with atomically(draft, overwrite=True) as temporary:
            temporary.write_bytes(written.getvalue())
            prove(read_workbook(temporary), content, numbered.bill_number)
        event = Billed(
            at=now(), quote_number=quote.quote_number, revision=quote.revision, bill_number=numbered.bill_number,
            billed_on=str(paper.billed_on), due_on=str(paper.due_on), currency=quote.currency,
            total=in_minor_units(paper.figures.total, quote.minor_units),
            taxes=tuple(_tax_of(rate, quote.minor_units) for rate in paper.figures.rates),
            prices_with_tax=paper.prices_with_tax, sha256=digest, corrects=corrects, because=because,
        )  # fmt: skip
        try:
            record_event(desk, ledger, event)
        except BillNumberTaken:
            draft.unlink()
            continue
        return Written(numbered, bill_file(desk, numbered.bill_number, digest))
    raise Misuse(f"{quote.quote_number}: other desks took {ATTEMPTS} numbers meanwhile. Nothing was billed: try again.")


def _tax_of(rate: RateOfTax, minor_units: int) -> tuple[str, int, int]:
    return f"{rate.tax_rate:f}", in_minor_units(rate.amount, minor_units), in_minor_units(rate.tax, minor_units)
