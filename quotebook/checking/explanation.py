"""How a figure came about, in a returned sheet and as it was issued: step by step, down to entries and rates."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.stamped import minor_units_of
from quotebook.contract.vocabulary import on_every_line
from quotebook.contract.wording import shown
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.engine.model import LINES
from quotebook.evaluation.agreement import agrees
from quotebook.evaluation.in_numbers import Writer
from quotebook.evaluation.trees import Name, NotAFormula, Tree, tree_of
from quotebook.spreadsheets.cells import CellAddress, CellRange

MONEY = {
    "labour", "after_hours_charge", "delivery", "goods", "discount", "waiver", "taxable", "tax", "total", "deposit",
    "balance",
    *on_every_line("hire_#", "edging_#", "subfloor_#"),
    "hourly_rate", "base_charge", "rate_per_mile",
    *on_every_line("rate_#", "piece_rate_#", "corner_rate_#", "sheet_rate_#"),
}  # fmt: skip
"""What is an amount of money, and is written with all of its digits."""


@dataclass(frozen=True)
class Step:
    """One figure, entry or rate on the way."""

    name: str
    label: str
    """What the sheet calls it, in the quote's language."""
    value: str
    """What the returned sheet makes it."""
    issued: str
    """What it was when the quote was issued."""
    in_numbers: str
    """The formula with the values of what it reads; empty for an entry or a rate."""
    formula: str
    """The formula as the sheet has it; empty for an entry or a rate."""
    parts_here: bool
    """Whether the two part here: it differs, though nothing that it reads does."""


def explain(sheet: WorkedOut, name: str, depth: int | None = None) -> list[Step]:
    """The steps to a figure, itself first and each before what it reads, `depth` of them down or to the end.

    Raises KeyError for what is no name of the quote.
    """
    if name not in sheet.content.places or name in sheet.content.tables:
        raise KeyError(name)
    steps: dict[str, Step] = {}
    found, waiting = _Explainer(sheet), [(name, 0)]
    while waiting:
        current, down = waiting.pop(0)
        if current not in steps:
            steps[current], reads = found.step(current)
            waiting += [(read, down + 1) for read in reads if depth is None or down < depth]
    return list(steps.values())


class _Explainer:
    def __init__(self, sheet: WorkedOut):
        self.sheet, self.content, self.evaluation = sheet, sheet.content, sheet.evaluation
        self.issued = {**self.content.owner, **self.content.inputs, **self.content.results}
        yes = self.content.owner["word_yes"]
        language = next((each for each in LANGUAGES if words_in(each)["words"]["yes"] == yes), "en")
        self.labels = words_in(language)["labels"]
        self.units = words_in(language)["units"][self.content.unit] | {"currency": ""}

    def step(self, name: str) -> tuple[Step, list[str]]:
        """A step, and the names that it rests on and that are worth a step of their own."""
        value, issued = self._value(name), self.issued.get(name)
        formula = self._formula(name)
        text, reads = self._in_numbers(name, formula) if formula else ("", [])
        if text == self._said(name, value):
            text = ""
        differs = not agrees(value, issued)
        parts = differs and not any(self._differs(read) for read in reads)
        step = Step(name, self._label(name), self._said(name, value), self._said(name, issued), text, formula, parts)
        return step, [read for read in reads if _matters(self._value(read)) or self._differs(read)]

    def _differs(self, name: str) -> bool:
        return not agrees(self._value(name), self.issued.get(name))

    def _value(self, name: str) -> object:
        where = self.evaluation.named(name, "")
        if isinstance(where, CellRange):
            return self.evaluation.cell(CellAddress(where.sheet, where.top, where.left))
        return where

    def _formula(self, name: str) -> str:
        found = self.sheet.returned.cells.get(name)
        return (found.formula or "") if found else ""

    def _in_numbers(self, name: str, formula: str) -> tuple[str, list[str]]:
        place = self.sheet.returned.cells[name].place
        try:
            tree = tree_of(formula)
        except NotAFormula as error:
            return error.reason.text, []
        writer = Writer(
            lambda part: self._say(part, place), lambda condition: self.evaluation.work_out(condition, place) is True
        )
        text = writer.write(tree)
        known = [read.name for read in writer.reads if read.name in self.issued]
        return text, [read for read in known if not read.startswith("word_") and read != "minor_units"]

    def _say(self, part: Tree, here: CellAddress) -> str:
        """A part of a formula as its value."""
        value = self.evaluation.work_out(part, here)
        if isinstance(value, str):
            return f'"{value}"' if value else ""
        return self._said(part.name if isinstance(part, Name) else "", value, blank="")

    def _said(self, name: str, value: object, blank: str = "blank") -> str:
        """A value as a person reads it: money with its digits, and finer where a rate is."""
        said = shown(name, value) or blank
        places = int(minor_units_of(self.content))
        if name in MONEY and isinstance(value, Decimal) and value == round(value, places):
            return f"{value:.{places}f}"
        return said

    def _label(self, name: str) -> str:
        """The label of a figure, with the number of its floor line where it has one."""
        stem, _, line = name.rpartition("_")
        on_line = line in map(str, range(1, LINES + 1)) and stem in self.labels
        label = self.labels.get(stem if on_line else name, "").format(**self.units).replace(" ()", "")
        return f"{label} [{line}]" if label and on_line else label


def _matters(value: object) -> bool:
    return value not in (None, "", 0, Decimal(0))


def in_words(steps: list[Step]) -> Iterator[str]:
    """The steps, a line each, as an owner can put them into a mail."""
    for step in steps:
        label = f"{step.label} ({step.name})" if step.label else step.name
        working = f" = {step.in_numbers}" if step.in_numbers else ""
        issued = f" [issued: {step.issued}]" if step.issued != step.value else ""
        here = "   <- changed here" if step.parts_here else ""
        yield f"{label}: {step.value}{working}{issued}{here}"
