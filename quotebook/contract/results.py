"""What the cells of a client's workbook should show: the engine's figures, in the workbook's own words.

The issue writes these as cached values, and the check holds a returned file against them.
"""

from decimal import Decimal

from quotebook.contract.note_formulas import LIVE_IN_CAUTIONS
from quotebook.contract.plan_figures import plan_figures
from quotebook.contract.values import CellValue, Dictionary, Words, joined
from quotebook.engine import cautions
from quotebook.engine.figures import Figures
from quotebook.engine.model import LINES, Rates, Request
from quotebook.engine.money import ZERO, round6
from quotebook.engine.suggestion import candidates


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
        | _candidates(rates, figures)
        | {"suggestion": _suggestion(figures, words["notes"]["suggestion"], unit)}
        | plan_figures(figures, request.every_line, plan_line, words, unit)
    )


def _in_words(figures: Figures, dictionary: Dictionary) -> dict[str, CellValue]:
    layings = {
        f"laying_{number}": dictionary.layings.get(line.laying, "") for number, line in enumerate(figures.lines, 1)
    }
    return figures.by_name() | layings


def _sentences(rates: Rates, request: Request, figures: Figures, words: Words) -> dict[str, str]:
    """Notes and cautions: a sentence where it applies, else nothing."""
    applying = cautions.quote_cautions(rates, request, figures)
    live = {name: joined(getattr(rates, name)) for name in LIVE_IN_CAUTIONS}
    said = {
        f"caution_{key}": words["cautions"][key].format(**live) if key in applying else "" for key in cautions.CAUTIONS
    }
    for line in range(1, LINES + 1):
        cut_pieces = joined(figures.line(line).cut_pieces)
        notes = (words["notes"][key] for key in cautions.line_notes(request, figures, line))
        said[f"notes_{line}"] = "".join(note.replace("{cut_pieces}", cut_pieces) + " " for note in notes)
    return said


def _candidates(rates: Rates, figures: Figures) -> dict[str, Decimal]:
    """The floors that the suggestion considers, by panels across, what they rest on, and the least of their scores."""
    floors = candidates(
        figures.suggested_panel_width, figures.suggested_panel_length, figures.area_needed, rates.longest_side
    )
    along = {f"along_for_{across}": floor.along for across, floor in enumerate(floors, 1)}
    scores = {f"score_for_{across}": floor.score for across, floor in enumerate(floors, 1)}
    panel = figures.suggested_panel_width * figures.suggested_panel_length
    needed = figures.area_needed / panel if panel else ZERO
    return along | scores | {"panels_needed": needed, "suggested_score": min(scores.values())}


def _suggestion(figures: Figures, sentence: str, unit: str) -> str:
    """The size suggested for the guests, in a sentence; nothing where the floors have the area that they need."""
    if not figures.suggested_width or round6(figures.area_needed - figures.area) <= 0:
        return ""
    sides = {"suggested_width": joined(figures.suggested_width), "suggested_length": joined(figures.suggested_length)}
    return sentence.format(guests_counted=joined(figures.guests_counted), unit=unit, **sides)
