"""Writes the break-even workbook: two kinds for one floor, and from how many hires the dearer costs less, live."""

from decimal import Decimal
from typing import BinaryIO

from quotebook.buying.break_even import Comparison, FloorCosts
from quotebook.buying.break_even_figures import OF_ALL, OF_KIND, in_units
from quotebook.buying.break_even_ground_sheet import FIRST, HEAD, write_ground, write_headings, write_words
from quotebook.buying.break_even_years import write_years
from quotebook.contract.stamp import Content
from quotebook.drawing.owner_workbook import OwnerWorkbook
from quotebook.engine.before_tax import tax_in_delivery, tax_in_goods, tax_in_labour
from quotebook.engine.money import ZERO


def write_break_even(file: BinaryIO, comparison: Comparison) -> Content:
    """Write the workbook to `file`; returns the place, formula and cached value of every name in it."""
    card = comparison.card
    book = OwnerWorkbook(file, card.firm, int(card.rates.minor_units), "Break-even")
    for number, ground in enumerate(comparison.grounds, 1):
        write_ground(book, comparison, number, ground)
    for number, ground in enumerate(comparison.grounds, 1):
        write_years(book, comparison.terms, comparison.hires_a_year, number, ground.surface, ground.costs)
    _write_assumptions(book, comparison)
    book.close()
    return book.content


def _write_assumptions(book: OwnerWorkbook, comparison: Comparison) -> None:
    hint = "From the rate card. A subfloor is taken to last as long as the panels on it."
    pen = book.sheet("Assumptions", "Assumptions", hint, (44, 20, 14, 14))
    kinds = [costs.kind.panel for costs in comparison.grounds[0].costs]
    row = write_headings(pen, HEAD, "The floor and the firm", ())
    rates = comparison.card.rates
    given = vars(rates) | vars(comparison.terms)
    given |= {"labour_tax": tax_in_labour(rates), "delivery_tax": tax_in_delivery(rates)}
    given |= dict(zip(("width", "length"), comparison.sides, strict=True))
    for name, (words, unit, shown) in OF_ALL.items():
        write_words(pen, row, words, in_units(book.firm, unit))
        pen.entry(name, row, FIRST, given[name], "entry_right", shown)
        row += 1
    row = write_headings(pen, row + 1, "Each kind", kinds)
    for name, (words, unit, shown) in OF_KIND.items():
        write_words(pen, row, words, in_units(book.firm, unit))
        for kind, costs in enumerate(comparison.grounds[0].costs, 1):
            pen.entry(f"{name}_{kind}", row, FIRST + kind - 1, _of_kind(comparison, costs, name), "entry_right", shown)
        row += 1
    book.page(pen, landscape=False)
    book.count_in_minor_units()


def _of_kind(comparison: Comparison, costs: FloorCosts, name: str) -> Decimal:
    rates = comparison.card.rates
    if name == "goods_tax":
        return tax_in_goods(rates, reduced=bool(costs.kind.reduced_tax))
    sheet = rates.subfloor(costs.kind.subfloor_kind)
    for record in (costs, costs.kind, costs.holding, *([sheet] if sheet else ())):
        if hasattr(record, name):
            found: Decimal = getattr(record, name)
            return found
    return ZERO
