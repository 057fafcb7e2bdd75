"""What a bill charges: what was agreed, what was changed on the day, pieces that were lost or damaged.

What was agreed is charged at the rates of the quote as it was agreed; lost and damaged pieces at the replacement
prices that the rate card has on the day of the bill.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any

from quotebook.contract.local import locale_of, say_day
from quotebook.engine.billing import Item
from quotebook.engine.model import RateCard, Rates
from quotebook.engine.money import ONE, ZERO, in_major_units, money, plain
from quotebook.engine.stock import Item as Piece
from quotebook.engine.visits import Job
from quotebook.errors import Misuse
from quotebook.ledger.bills import Bill
from quotebook.ledger.events import Loss

SERVICES = ("goods", "delivery", "labour", "waiver")
"""What the rate card says of each whether it is taxed."""


@dataclass(frozen=True)
class Change:
    """Something that was agreed on the day: a text for the client, and an amount, less than 0 for a reduction."""

    text: str
    amount: Decimal
    service: str
    """One of SERVICES: it is taxed as that is."""


@cache
def bill_words(language: str) -> dict[str, Any]:
    """The words of bills in a language of the rate card."""
    return loads((files("quotebook.templates") / f"bill.{language}.toml").read_text("utf-8"))


def tax_rate_on(service: str, rates: Rates, reduced: bool | None = None) -> Decimal:
    """The rate of tax that a service bears, by the rates of a quote; 0 where it is not taxed.

    `reduced` says whether it is the reduced one, and goods must say so; else the rates do.
    """
    if not getattr(rates, f"tax_on_{service}"):
        return ZERO
    at_reduced = getattr(rates, f"reduced_on_{service}", False) if reduced is None else reduced
    return rates.reduced_tax_rate if at_reduced else rates.tax_rate


def agreed_items(job: Job, unit: str, words: dict[str, Any]) -> Iterator[Item]:
    """What a quote charges, line by line as agreed. `unit` is the word for its unit of length."""
    said, figures, rates, request = words["items"], job.figures, job.rates, job.request
    for number, line in enumerate(figures.lines, 1):
        if not line.counted:
            continue
        kind = rates.listed_kind(request.lines[number - 1].panel)
        sheet = rates.subfloor(line.subfloor_kind)
        facts = {
            "line": number, "panels": plain(line.panels), "width": plain(line.actual_width),
            "length": plain(line.actual_length), "sheets": plain(line.sheets), "unit": unit,
        }  # fmt: skip
        on_goods = tax_rate_on("goods", rates, reduced=line.reduced_tax == 1)
        names = {"hire": kind.panel_name, "edging": "", "subfloor": sheet.subfloor_name if sheet else ""}
        for what, name in names.items():
            if amount := getattr(line, what):
                yield Item(said[what].format(name=name, **facts), ONE, amount, on_goods)
    reduced_discount = _reduced_goods(job) - figures.goods_reduced
    charges = (
        ("discount", reduced_discount - figures.discount, tax_rate_on("goods", rates, reduced=False)),
        ("discount", -reduced_discount, tax_rate_on("goods", rates, reduced=True)),
        ("minimum_order_charge", figures.minimum_order_charge, tax_rate_on("goods", rates, reduced=False)),
        ("waiver", figures.waiver, tax_rate_on("waiver", rates)),
        ("delivery", figures.delivery, tax_rate_on("delivery", rates)),
        ("labour", figures.labour, tax_rate_on("labour", rates)),
        ("after_hours_charge", figures.after_hours_charge, tax_rate_on("labour", rates)),
    )
    for what, amount, tax_rate in charges:
        if amount:
            yield Item(said[what], ONE, amount, tax_rate)


def _reduced_goods(job: Job) -> Decimal:
    """Hire, edging and subfloor of the lines that bear the reduced rate of tax, before discount."""
    lines = [line for line in job.figures.lines if line.reduced_tax == 1]
    return sum((line.hire + line.edging + line.subfloor for line in lines), ZERO)


def changed_items(changes: Iterable[Change], rates: Rates, words: dict[str, Any]) -> Iterator[Item]:
    """What was changed on the day by agreement. Raises Misuse for an amount finer than the smallest unit of money."""
    for change in changes:
        if money(change.amount, rates.minor_units) != change.amount:
            raise Misuse(f"{change.text}: {change.amount} has more than {rates.minor_units} decimal places.")
        text = words["items"]["changed"].format(text=change.text)
        yield Item(text, ONE, change.amount, tax_rate_on(change.service, rates))


def loss_items(losses: Iterable[Loss], card: RateCard, job: Job, words: dict[str, Any]) -> Iterator[Item]:
    """Pieces that came back damaged or not at all, each at its replacement price, less what the waiver covers."""
    terms = card.payment_terms
    tax_rate = job.rates.tax_rate if terms.tax_on_losses else ZERO
    covers = {"damaged": terms.waiver_covers_damage, "lost": terms.waiver_covers_loss}
    for loss in sorted(losses, key=lambda loss: loss.item):
        what = words["pieces"][loss.item.what].format(name=_name_of(loss.item, card))
        for how, share in covers.items():
            if count := getattr(loss, how):
                covered = share if job.request.waiver_taken else ZERO
                text = words["items"][how].format(what=what)
                yield Item(text, Decimal(count), replacement_price(loss.item, card), tax_rate, covered)


def kept_item(amount: Decimal, cancelled_on: date, card: RateCard, job: Job, words: dict[str, Any]) -> Item:
    """The part of a deposit that is kept of a cancelled quote. The amount is what the client has paid of it."""
    tax_rate = job.rates.tax_rate if card.payment_terms.tax_on_losses else ZERO
    day = say_day(cancelled_on, locale_of(card.firm.language, card.firm.region))
    return Item(words["items"]["deposit_kept"].format(date=day), ONE, amount, tax_rate)


def taken_back_items(bill: Bill, minor_units: int, words: dict[str, Any]) -> Iterator[Item]:
    """A bill taken back in full: for each rate of tax what the bill's items at that rate come to, less than 0."""
    for rate, amount, _ in bill.taxes:
        text = words["items"]["taken_back"].format(number=bill.bill_number, rate=f"{plain(Decimal(rate) * 100)} %")
        yield Item(text, ONE, -in_major_units(amount, minor_units), Decimal(rate))


def replacement_price(piece: Piece, card: RateCard) -> Decimal:
    """What one piece costs a client who does not bring it back: the price paid where the card has no other.

    0 for carts, which the card has no price for. Raises Misuse for a kind that is no longer on the card.
    """
    holding, sheet = card.holdings.get(piece.code), card.sheet_holdings.get(piece.code)
    if piece.what == "sheets" and sheet:
        return sheet.replacement_price or sheet.purchase_price
    if holding and piece.what == "panels":
        return holding.replacement_price or holding.purchase_price
    if holding and piece.what == "corners":
        return holding.corner_replacement_price
    if holding:
        return holding.piece_replacement_price
    if piece.what == "carts":
        return ZERO
    raise Misuse(f"{piece} are no longer on the rate card: put them back, so that the bill can price what was lost.")


def _name_of(piece: Piece, card: RateCard) -> str:
    kind, sheet = card.rates.kind(piece.code), card.rates.subfloor(piece.code)
    if piece.what == "sheets":
        return sheet.subfloor_name if sheet else piece.code
    return kind.panel_name if kind else piece.code
