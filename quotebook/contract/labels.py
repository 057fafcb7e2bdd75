"""What the names of an issued quote are called on its sheets, and their values as a person reads them there."""

import re
from decimal import Decimal
from functools import cached_property

from quotebook.contract.option_formulas import without_suffix
from quotebook.contract.stamp import Content
from quotebook.contract.stamped import language_of, minor_units_of
from quotebook.contract.vocabulary import TABLES, on_every_line
from quotebook.contract.wording import shown
from quotebook.contract.words import words_in
from quotebook.engine.model import LINES
from quotebook.engine.money import plain

MONEY = {
    "labour", "after_hours_charge", "delivery", "goods", "discount", "waiver", "taxable", "tax", "total", "deposit",
    "balance",
    *on_every_line("hire_#", "edging_#", "subfloor_#"),
}  # fmt: skip
"""Amounts of money whose labels do not say so."""

SHARES = {"tax_rate"}
"""Shares, besides those whose names end so."""

UNIT = re.compile(r" ?\(?\{(length|weight|distance|thickness|currency)\}(²?)\)?")
"""A unit in a label, where it stands in brackets or alone."""

OTHER_LABELS = {"kinds_layings": "laying", "surfaces": "surface"}
"""The label's key for names that have none of their own."""


class Labels:
    """The labels of one issued quote, in the language that it was written in."""

    def __init__(self, content: Content):
        self.content = content
        self._words = words_in(language_of(content))
        self._labels: dict[str, str] = self._words["labels"]

    @property
    def footer(self) -> str:
        """What the footer of every page says, besides the quote's number."""
        return str(self._words["text"]["defers"])

    @cached_property
    def _units(self) -> dict[str, str]:
        return {**self._words["units"][self.content.unit], "currency": self._currency()}

    def _currency(self) -> str:
        """The currency that the quote says its prices are in; nothing where it says none."""
        before, _, after = self._words["text"]["prices_in"].partition("{currency}")
        texts = (text for cells in self.content.fixed.values() for *_, text in cells if isinstance(text, str))
        said = (text[len(before) : len(text) - len(after)] for text in texts if text.startswith(before))
        return next((word for word in said if re.fullmatch("[A-Z]{3}", word)), "")

    def _template(self, name: str) -> tuple[str, str]:
        """The label of a name as the words have it, and the number of its floor line.

        A figure of an option has that of the same figure of the quote.
        """
        name, _ = without_suffix(name)
        stem, _, line = name.rpartition("_")
        if line in map(str, range(1, LINES + 1)) and stem in self._labels:
            return self._labels[stem], line
        table = next((table for table in TABLES if name.startswith(f"{table}_")), "")
        if table and name in self.content.tables:
            name = OTHER_LABELS.get(name, name.removeprefix(f"{table}_"))
        return self._labels.get(OTHER_LABELS.get(name, name), ""), ""

    def label(self, name: str) -> str:
        """What a name is called, without its unit; nothing for a name that the sheets call nothing."""
        if name == "tax":
            return self._name_of_the_tax()
        template, line = self._template(name)
        label, (_, option) = UNIT.sub("", template), without_suffix(name)
        of = (f", line {line}" if line else "") + (f", option {option}" if option else "")
        return f"{label}{of}" if label else ""

    def _name_of_the_tax(self) -> str:
        """What the tax is called beside its amount: the card that the quote is from may have its own name for it."""
        sheet, row, column = self.content.places["tax"]
        said = [(at, text) for top, at, text in self.content.fixed[sheet] if top == row and at < column]
        return str(max(said, default=(0, ""))[1])

    def named(self, name: str) -> str:
        """What a name is called, with the name itself in brackets."""
        label = self.label(name)
        return f"{label} ({name})" if label else name

    def unit(self, name: str) -> str:
        """The unit of a name's numbers; nothing where they have none."""
        if without_suffix(name)[0] in MONEY:
            return self._units["currency"]
        found = UNIT.search(self._template(name)[0])
        return self._units[found[1]] + found[2] if found else ""

    def said(self, name: str, value: object, blank: str = "blank") -> str:
        """A value as a person reads it: money to the cent or finer, shares in percent, numbers with their unit."""
        if not isinstance(value, Decimal) or abs(value) >= 10**15:
            return shown(name, value) or blank
        if name in SHARES or name.endswith("_share"):
            return f"{plain(value * 100)} %"
        return f"{self.number(name, value)} {self.unit(name)}".rstrip()

    def number(self, name: str, value: Decimal) -> str:
        """A number without its unit; an amount of money with all of its digits."""
        template = self._template(name)[0]
        places = int(minor_units_of(self.content))
        if (without_suffix(name)[0] in MONEY or "{currency}" in template) and value == round(value, places):
            return f"{value:.{places}f}"
        return shown(name, value) or plain(value)
