"""A promised price stands: which rates and terms the next revision of a quote has.

Within the days for which a quote is valid, its next revision has the rates, the taxes and the terms of the quote,
whatever the rate card says by now; the number of panels free is always that of now.
"""

from dataclasses import replace
from datetime import date
from typing import NamedTuple

from quotebook.client.terms_sheet import terms_written
from quotebook.contract.local import local_for
from quotebook.contract.stamp import Content
from quotebook.contract.stamped import papers_of
from quotebook.engine.model import RULES, RateCard, Rates
from quotebook.engine.money import ZERO
from quotebook.engine.published import LEVEL_EDGE
from quotebook.errors import Misuse


class Promise(NamedTuple):
    """The rate card as it holds for one revision, and a sentence for the owner about it."""

    card: RateCard
    sentence: str


def promised(
    content: Content, issued_rates: Rates, card: RateCard, rates_now: Rates, today: date, new_rates: bool = False
) -> Promise:
    """The card for the revision after an issued quote: the quote's own rates and terms while it is valid.

    `content` and `issued_rates` are the quote's, `rates_now` the card's with what is free. With `new_rates`, after
    the quote's last day, or where an earlier version issued it, the card's rates are taken; a quote without tax
    stays without tax. Raises Misuse for a quote that is in another unit of length than the card.
    """
    papers = papers_of(content)
    _must_be_in_unit(papers.quote_number, issued_rates, card.firm.length_unit)
    revision, last_day = int(papers.revision), papers.valid_until
    said = local_for(card.firm).day(last_day)
    if not new_rates and today <= last_day and content.rules == RULES:
        free = {kind.panel: kind.free for kind in rates_now.kinds}
        kinds = tuple(replace(kind, free=free.get(kind.panel, ZERO)) for kind in issued_rates.kinds)
        kept = replace(card, rates=replace(issued_rates, kinds=kinds), terms=terms_written(content) or card.terms)
        return Promise(kept, f"At the rates, taxes and terms of revision {revision}, which stand until {said}.")
    exempt = not issued_rates.tax_rate and bool(rates_now.tax_rate)
    rates = rates_now.without_tax() if exempt else rates_now
    why = "as told" if new_rates else f"revision {revision} stood until {said}"
    if not new_rates and today <= last_day:
        why = f"revision {revision} is of an earlier version"
    stays = " It stays without tax." if exempt else ""
    return Promise(replace(card, rates=rates), f"At the rate card's rates, taxes and terms of now: {why}.{stays}")


def _must_be_in_unit(number: str, issued_rates: Rates, length_unit: str) -> None:
    """Raises Misuse for rates in the other unit of length: the steps that they allow are published in both."""
    for unit in ("ft", "m"):
        if unit != length_unit and issued_rates.step_limit == LEVEL_EDGE.in_units(unit):
            raise Misuse(
                f"{number} was issued in {unit}, and the rate card is in {length_unit}: issue a new quote, with its "
                f"sizes in {length_unit}."
            )
