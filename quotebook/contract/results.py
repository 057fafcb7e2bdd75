"""What the cells of a client's workbook should show: the engine's figures, in the workbook's own words.

The issue writes these as cached values, and the check holds a returned file against them.
"""

from decimal import Decimal

from quotebook.contract.plan_figures import plan_figures
from quotebook.contract.values import CellValue, Dictionary, Words, joined
from quotebook.engine import cautions
from quotebook.engine.figures import Figures, LineFigures
from quotebook.engine.model import LINES, Rates, Request
from quotebook.engine.money import round6


def results_of(
    rates: Rates,
    request: Request,
    figures: Figures,
    dictionary: Dictionary,
    plan_line: CellValue,
    words: Words,
    unit: str,
) -> dict[str, CellValue]:
    """Every figure and sentence by its defined name, but for the places of panel and ground in the tables.

    `figures` are the engine's, `words` is the whole of a words file, `unit` is the card's unit of length.
    """
    return (
        _in_words(figures, dictionary)
        | _sentences(rates, request, figures, words)
        | _scores(figures)
        | {"suggestion": _suggestion(figures, words["notes"]["suggestion"], unit)}
        | plan_figures(figures, plan_line, words, unit)
    )


def _in_words(figures: Figures, dictionary: Dictionary) -> dict[str, CellValue]:
    layings = {
        f"laying_{number}": dictionary.layings.get(line.laying, "") for number, line in enumerate(figures.lines, 1)
    }
    return figures.by_name() | layings


def _sentences(rates: Rates, request: Request, figures: Figures, words: Words) -> dict[str, str]:
    """Notes and cautions: a sentence where it applies, else nothing."""
    applying = cautions.quote_cautions(rates, request, figures)
    said = {f"caution_{key}": words["cautions"][key] if key in applying else "" for key in cautions.CAUTIONS}
    for line in range(1, LINES + 1):
        notes = cautions.line_notes(request, figures, line)
        said[f"notes_{line}"] = "".join(f"{words['notes'][key]} " for key in notes)
    return said


def _scores(figures: Figures) -> dict[str, Decimal]:
    """The score of the grid that is suggested on each line, by the rule that `engine.suggestion` states."""
    return {f"suggested_score_{number}": _score(line) for number, line in enumerate(figures.lines, 1)}


def _score(line: LineFigures) -> Decimal:
    if not line.suggested_across:
        return Decimal(10**9)
    panels = line.suggested_across * line.suggested_along
    return panels * 10_000 + line.suggested_width + line.suggested_length


def _suggestion(figures: Figures, sentence: str, unit: str) -> str:
    """The size suggested for the guests, in the first panel that has one; nothing where the floors are enough."""
    line = next((line for line in figures.lines if line.suggested_width), None)
    if line is None or round6(figures.area_needed - figures.area) <= 0:
        return ""
    sides = {"suggested_width": joined(line.suggested_width), "suggested_length": joined(line.suggested_length)}
    return sentence.format(guests_counted=joined(figures.guests_counted), unit=unit, **sides)
