"""How a figure came about, in a returned sheet and as it was issued: step by step, down to entries and rates."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from quotebook.checking.worked_out import WorkedOut
from quotebook.contract.labels import Labels
from quotebook.contract.wording import shown
from quotebook.evaluation.agreement import agrees
from quotebook.evaluation.in_numbers import Writer
from quotebook.evaluation.trees import Name, NotAFormula, Tree, tree_of
from quotebook.spreadsheets.cells import CellAddress, CellRange


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

    @property
    def differs(self) -> bool:
        """Whether its value is not as issued."""
        return self.value != self.issued


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
        self.labels = Labels(self.content)

    def step(self, name: str) -> tuple[Step, list[str]]:
        """A step, and the names that it rests on and that are worth a step of their own."""
        value, issued = self._value(name), self.issued.get(name)
        formula = self._formula(name)
        text, reads = self._in_numbers(name, formula) if formula else ("", [])
        if text == self._said(name, value):
            text = ""
        differs = not agrees(value, issued)
        parts = differs and not any(self._differs(read) for read in reads)
        step = Step(
            name, self.labels.label(name), self._said(name, value), self._said(name, issued), text, formula, parts
        )
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
        """A value as a person reads it, without its unit."""
        return self.labels.number(name, value) if isinstance(value, Decimal) else shown(name, value) or blank


def _matters(value: object) -> bool:
    return value not in (None, "", 0, Decimal(0))


def in_words(steps: list[Step]) -> Iterator[str]:
    """The steps, a line each, as an owner can put them into a mail."""
    for step in steps:
        yield in_one_line(step) + ("   <- changed here" if step.parts_here else "")


def in_one_line(step: Step) -> str:
    """A figure with its value, the numbers that make it, and its value as issued where that is another."""
    working = f" = {step.in_numbers}" if step.in_numbers else ""
    issued = f" [issued: {step.issued}]" if step.differs else ""
    return f"{named(step)}: {step.value}{working}{issued}"


def named(step: Step) -> str:
    """What a step is called, with its name in brackets."""
    return f"{step.label} ({step.name})" if step.label else step.name
