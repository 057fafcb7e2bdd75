"""An issue of a quote, and its draft: priced, with its words chosen, before any sheet is written."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from quotebook.client.logo import Logo
from quotebook.contract import formulas, note_formulas
from quotebook.contract.offer import offer_of
from quotebook.contract.offer_formulas import offer_formulas
from quotebook.contract.option_formulas import own_figures, suffix, with_options
from quotebook.contract.options import line_followed, options_said, picked_figures
from quotebook.contract.plan_blocks import blocks_drawn, most_blocks
from quotebook.contract.plan_formulas import plan_formulas
from quotebook.contract.results import results_of
from quotebook.contract.small_plan_figures import small_plan_figures
from quotebook.contract.small_plan_formulas import small_plan_formulas
from quotebook.contract.values import CellValue, Dictionary, joined_cells
from quotebook.contract.vocabulary import WORDS
from quotebook.contract.words import caution_sentences, words_in
from quotebook.engine.figures import Figures
from quotebook.engine.laid_floors import joined_lines
from quotebook.engine.model import SURFACES, Firm, Papers, Rates, Request
from quotebook.engine.money import ONE, ZERO, plain
from quotebook.engine.price import price

LINE_DRAWN = ONE
"""The floor line that the floor plan draws when the quote goes out."""


@dataclass(frozen=True)
class Issue:
    """Everything that one client's workbook is made from."""

    papers: Papers
    firm: Firm
    rates: Rates
    request: Request
    terms: tuple[str, ...]
    changes: tuple[str, ...] = ()
    """On a later revision: what changed since the last one, a sentence each."""
    logo: Logo | None = None
    finishes: Mapping[str, str] = field(default_factory=dict)
    """The colour of each kind of panel by its code, where it has one."""


class QuoteDraft:
    """An issue with its figures priced and its words chosen, ready to be written sheet by sheet."""

    def __init__(self, issue: Issue) -> None:
        self.issue = issue
        self.words = words_in(issue.firm.language) | {"cautions": caution_sentences(issue.firm)}
        self.units = self.words["units"][issue.firm.length_unit] | {"currency": issue.firm.currency}
        self.word_cells = {name: self.words["words"][name.removeprefix("word_")] for name in WORDS}
        self.dictionary = Dictionary(self.word_cells, self.words["words"]["surfaces"])
        firm, unit, ground = issue.firm, self.units["length"], self.words["offer"]["ground"]
        self.groups = joined_lines(issue.request.every_line)
        """The lines of each floor that is laid of several kinds of panel."""
        self.formulas = (
            formulas.FORMULAS
            | note_formulas.notes(self.words["notes"])
            | note_formulas.cautions(self.words["cautions"])
            | ({"suggestion": note_formulas.suggestion(self.words["notes"], unit)} if firm.suggests_sizes else {})
            | plan_formulas(self.words, unit, self.groups)
            | small_plan_formulas(self.groups)
            | offer_formulas(self.words, ground, unit, firm.reply_address, self.groups)
        )
        self.joined = joined_cells(issue.request)
        self.options = issue.request.options
        """The letters of the options that the quote offers; none for most quotes."""
        figures, self.results = self._worked_out(issue.request)
        if self.options:
            self.formulas = with_options(self.formulas, self.words, self.options)
            self.results |= picked_figures(issue.request, figures, LINE_DRAWN) | self._of_options()

    def _worked_out(self, request: Request) -> tuple[Figures, dict[str, CellValue]]:
        """The figures of a request, and what every formula of a quote for it comes to, options aside."""
        issue, unit, ground = self.issue, self.units["length"], self.words["offer"]["ground"]
        rates, address = issue.rates, issue.firm.reply_address
        figures = price(rates, request)
        drawn = line_followed(request, figures, LINE_DRAWN)
        results = (
            _positions_in_tables(rates, request.as_picked(), figures)
            | results_of(rates, request, figures, self.dictionary, drawn, self.words, unit)
            | offer_of(issue.papers, rates, request, figures, self.words, ground, unit, address)
        )
        results |= _kinds_drawn(request, results)
        blocks = blocks_drawn(request.every_line, figures, int(drawn))
        return figures, results | small_plan_figures(results, request.every_line, blocks)

    def _of_options(self) -> dict[str, CellValue]:
        """What the figures come to that each option has for itself, and what is said of the options."""
        found: dict[str, CellValue] = {}
        by_option = {}
        for option in self.options:
            request = self.issue.request.with_pick(option)
            figures, results = by_option[option] = self._worked_out(request)
            results |= picked_figures(request, figures, LINE_DRAWN)
            found |= {f"{name}{suffix(option)}": results[name] for name in own_figures(results)}
        return found | options_said(self.issue.request, by_option, self.words)

    def label(self, name: str) -> str:
        """The label of a figure, in the reader's language and the firm's units; that of the tax is the card's own."""
        if name == "tax" and self.issue.firm.tax_name:
            return self.issue.firm.tax_name
        label: str = self.words["labels"][name]
        return label.format(**self.units)

    def help(self, stem: str) -> str:
        """What goes into an entry, in the reader's language, with an example; `stem` is its name without a number."""
        rates, said = self.issue.rates, self.words["help"]
        kinds: list[str] = [kind.panel for kind in rates.kinds]
        known: dict[str, CellValue] = {
            "most": plain(rates.largest_entry), "longest": plain(rates.longest_side), "panel": next(iter(kinds), ""),
            "yes": self.word_cells["word_yes"], "no": self.word_cells["word_no"],
            "ground": self.dictionary.surfaces[SURFACES[0]], "option": self.options[0] if self.options else "",
        }  # fmt: skip
        text: str = said[stem]
        return text.format(**self.units, **known)

    def text(self, name: str) -> str:
        """A text of the sheets, in the reader's language and the firm's units."""
        text: str = self.words["text"][name]
        return text.format(**self.units)


def _kinds_drawn(request: Request, results: Mapping[str, CellValue]) -> dict[str, CellValue]:
    """The kinds of panel that the floor plan draws, block by block, by their place on the list; 0 for none."""
    first, drawn = (int(str(results.get(name, ONE))) for name in ("plan_first", "plan_blocks"))
    further = {
        f"plan_kind_{block}": results[f"kind_row_{first + block - 1}"] if drawn >= block else ZERO
        for block in range(2, most_blocks(request.every_line) + 1)
    }
    return {"plan_kind": results[f"kind_row_{first}"], **further}


def _positions_in_tables(rates: Rates, request: Request, figures: Figures) -> dict[str, CellValue]:
    """Where the workbook's tables have what each line's panel, its subfloor, the ground and the days of hire need.

    Rows and columns count from 1; 0 where there is none.
    """
    kinds, subfloors = [kind.panel for kind in rates.kinds], [sheet.subfloor_kind for sheet in rates.subfloors]
    rows: dict[str, CellValue] = {}
    for number, line in enumerate(request.every_line, 1):
        kind = rates.kind(line.panel)
        rows[f"kind_row_{number}"] = _place(kinds, kind.panel if kind else "")
        rows[f"subfloor_row_{number}"] = _place(subfloors, kind.subfloor_kind if kind else "")
    begun = [factor for factor in rates.day_factors if factor.hire_days <= figures.days_counted]
    return rows | {"surface_column": _place(SURFACES, request.surface), "day_factor_row": Decimal(len(begun))}


def _place(them: Sequence[str], one: str) -> Decimal:
    """Where something stands among others, from 1; 0 where it is not among them."""
    return Decimal(them.index(one) + 1 if one in them else 0)
