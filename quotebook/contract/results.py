"""What the cells of a client's workbook should show: the engine's figures, in the workbook's own words.

The issue writes these as cached values, and the check holds a returned file against them.
"""

from collections.abc import Mapping
from decimal import Decimal

from quotebook.contract.plan_figures import plan_figures
from quotebook.contract.values import CellValue, Dictionary, joined
from quotebook.engine import cautions
from quotebook.engine.model import LINES, Rates, Request

SENTENCES = ("notes", "cautions", "plan")
"""Sections of a words file that are sentences of figures."""


def results_of(
    rates: Rates,
    request: Request,
    figures: Mapping,
    dictionary: Dictionary,
    plan_line: CellValue,
    words: Mapping,
    unit: str,
) -> dict[str, CellValue]:
    """Every figure and sentence by its defined name, but for the places of panel and ground in the tables.

    `figures` are the engine's, `words` has the sections SENTENCES, `unit` is the card's unit of length.
    """
    return (
        _in_words(figures, dictionary)
        | _sentences(rates, request, figures, words)
        | _scores(figures)
        | _suggestions(figures, words["notes"]["suggestion"], unit)
        | plan_figures(figures, plan_line, words, unit)
    )


def _in_words(figures: Mapping, dictionary: Dictionary) -> dict[str, CellValue]:
    layings = {f"laying_{line}": dictionary.layings.get(figures[f"laying_{line}"], "") for line in range(1, LINES + 1)}
    return {**figures, **layings}


def _sentences(rates: Rates, request: Request, figures: Mapping, words: Mapping) -> dict[str, str]:
    """Notes and cautions: a sentence where it applies, else nothing."""
    applying = cautions.quote_cautions(rates, request, figures)
    said = {f"caution_{key}": words["cautions"][key] if key in applying else "" for key in cautions.CAUTIONS}
    for line in range(1, LINES + 1):
        notes = cautions.line_notes(rates, request, figures, line)
        said[f"notes_{line}"] = "".join(f"{words['notes'][key]} " for key in notes)
    return said


def _scores(figures: Mapping) -> dict[str, Decimal]:
    """Of the suggested grids, as `engine.suggestion` says that a workbook scores them."""
    scores = {}
    for line in range(1, LINES + 1):
        across, along, *sides = (figures[f"suggested_{name}_{line}"] for name in ("across", "along", "width", "length"))
        scores[f"suggested_score_{line}"] = across * along * 10_000 + sum(sides) if across else Decimal(10**9)
    return scores


def _suggestions(figures: Mapping, sentence: str, unit: str) -> dict[str, str]:
    """The size suggested for the guests beside each line, where there is one."""
    said = {}
    for line in range(1, LINES + 1):
        sides = {name: joined(figures[f"{name}_{line}"]) for name in ("suggested_width", "suggested_length")}
        text = sentence.format(guests_counted=joined(figures["guests_counted"]), unit=unit, **sides)
        said[f"suggestion_{line}"] = text if figures[f"suggested_width_{line}"] else ""
    return said
