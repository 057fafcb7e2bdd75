"""The client's workbook: everything about one quote in one file, live, with its stamp."""

from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO

from quotebook.client.floor_plan_sheet import FIRST_LINE, write_floor_plan
from quotebook.client.logo import Logo
from quotebook.client.quote_sheet import write_front
from quotebook.client.rates_sheet import write_rates
from quotebook.client.terms_sheet import write_terms
from quotebook.client.working_sheet import write_working
from quotebook.contract import formulas
from quotebook.contract.plan_formulas import plan_formulas
from quotebook.contract.results import SENTENCES, results_of
from quotebook.contract.stamp import Content, seal
from quotebook.contract.values import CellValue, Dictionary, joined_cells
from quotebook.contract.vocabulary import WORDS
from quotebook.contract.words import words_in
from quotebook.drawing.sheet_writer import Pen
from quotebook.drawing.styles import Look, new_workbook
from quotebook.engine.model import LINES, RULES, SURFACES, Firm, Papers, Rates, Request
from quotebook.engine.money import ONE, ZERO
from quotebook.engine.price import price

SHEETS = {
    "quote": write_front, "plan": write_floor_plan, "working": write_working, "rates": write_rates, "terms": write_terms,
}  # fmt: skip
"""The sheets that a client sees, in their order, each by its key among the words."""


@dataclass(frozen=True)
class Issue:
    """All that one client's workbook is made of."""

    papers: Papers
    firm: Firm
    rates: Rates
    request: Request
    terms: tuple[str, ...]
    changes: tuple[str, ...] = ()
    """On a later revision: what changed since the last one, a sentence each."""
    logo: Logo | None = None


class Draft:
    """An issue with its figures priced and its words chosen, ready to be written sheet by sheet."""

    def __init__(self, issue: Issue):
        self.issue = issue
        self.words = words_in(issue.firm.language)
        self.units = self.words["units"][issue.firm.length_unit] | {"currency": issue.firm.currency}
        self.word_cells = {name: self.words["words"][name.removeprefix("word_")] for name in WORDS}
        self.dictionary = Dictionary(self.word_cells, self.words["words"]["surfaces"])
        self.formulas = (
            formulas.FORMULAS
            | formulas.notes(self.words["notes"])
            | formulas.cautions(self.words["cautions"])
            | formulas.suggestions(self.words["notes"], self.units["length"])
            | plan_formulas(self.words, self.units["length"])
        )
        self.joined = joined_cells(issue.request)
        figures = price(issue.rates, issue.request)
        self.results = _lookups(issue) | results_of(
            issue.rates, issue.request, figures, self.dictionary, FIRST_LINE, self.words, self.units["length"]
        )

    def label(self, name: str) -> str:
        """What stands beside a figure, in the reader's language and the firm's units."""
        return self.words["labels"][name].format(**self.units)

    def text(self, name: str) -> str:
        return self.words["text"][name].format(**self.units)


def _lookups(issue: Issue) -> dict[str, CellValue]:
    """Where panels and ground stand in the tables of the workbook."""
    codes = [kind.panel for kind in issue.rates.kinds]
    rows = dict.fromkeys((f"kind_row_{line}" for line in range(1, LINES + 1)), ZERO)
    for line, floor in enumerate(issue.request.lines, 1):
        kind = issue.rates.kind(floor.panel)
        rows[f"kind_row_{line}"] = ZERO + codes.index(kind.panel) + ONE if kind else ZERO
    surface = issue.request.surface
    return rows | {"surface_column": ZERO + SURFACES.index(surface) + 1 if surface in SURFACES else ZERO}


def write_quote(file: BinaryIO, issue: Issue, key: bytes) -> Content:
    """Writes the client's workbook to `file`, stamped under `key`; returns what the stamp signs.

    The same issue and key give the same bytes.
    """
    draft = Draft(issue)
    content = Content(RULES, {section: draft.words[section] for section in SENTENCES}, draft.units["length"])
    book = new_workbook(file)
    look = Look(book, issue.firm.accent_colour, issue.rates.minor_units)
    for name, write in SHEETS.items():
        write(Pen(book, book.add_worksheet(draft.words["sheets"][name]), look, content), draft)
    _write_stamp(book, content, key)
    book.set_properties(
        {"title": f"{draft.text('quote')} {issue.papers.quote_number}", "created": _midnight(issue.papers.issued_on)}
    )
    book.close()
    return content


def _write_stamp(book, content: Content, key: bytes) -> None:
    sheet = book.add_worksheet("stamp")
    for row, text in enumerate(seal(content, key)):
        sheet.write_string(row, 0, text)
    sheet.very_hidden()


def _midnight(day) -> datetime:
    return datetime(day.year, day.month, day.day)
