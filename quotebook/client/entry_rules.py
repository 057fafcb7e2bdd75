"""What a spreadsheet program lets a client type into the entries of a quote, and what it says beside them.

These rules are only a help while typing: every entry is checked again when the workbook comes back.
"""

from collections.abc import Sequence

from quotebook.client.draft import QuoteDraft
from quotebook.contract.vocabulary import stem_of
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.entries import LONGEST_TEXT
from quotebook.engine.model import LINES

LONGEST_TITLE, LONGEST_MESSAGE = 32, 255
"""Characters of a message's title and text (ECMA-376 part 1, 18.3.1.32)."""


def set_entry_rule(
    writer: SheetWriter, draft: QuoteDraft, name: str, row: int, column: int, also_rows: Sequence[int] = ()
) -> None:
    """Says beside an entry what goes there, and restricts what a spreadsheet program lets the client type.

    `also_rows` are further rows of the same column, with entries of the same kind.
    """
    others = {"other_cells": [(other, column, other, column) for other in also_rows]} if also_rows else {}
    writer.sheet.data_validation(row, column, row, column, entry_rule(name, draft) | others)


def entry_rule(name: str, draft: QuoteDraft) -> dict[str, object]:
    """The data validation of an entry as XlsxWriter takes it, with what it says in the quote's language."""
    stem = stem_of(name)
    title = draft.words["plan"]["which"] if stem == "plan_line" else draft.label(stem)
    message = draft.help(stem)[:LONGEST_MESSAGE]
    return _rules(draft)[stem] | {
        "input_title": title[:LONGEST_TITLE],
        "input_message": message,
        "error_title": draft.words["help"]["wrong"][:LONGEST_TITLE],
        "error_message": message,
    }


def _rules(draft: QuoteDraft) -> dict[str, dict[str, object]]:
    """By entry; the entries of floor lines without their number."""
    most, longest_side = float(draft.issue.rates.largest_entry), float(draft.issue.rates.longest_side)
    yes_or_no: dict[str, object] = {"validate": "list", "source": list(draft.dictionary.yes_no.values())}
    from_issue_on: dict[str, object] = {"validate": "date", "criteria": ">=", "value": draft.issue.papers.issued_on}
    short: dict[str, object] = {"validate": "length", "criteria": "<=", "value": LONGEST_TEXT}
    return {
        "client": short,
        "event": short,
        "venue": short,
        "surface": {"validate": "list", "source": "=surfaces"},
        "panel": {"validate": "list", "source": "=kinds_panel"},
        "after_hours": yes_or_no,
        "waiver_taken": yes_or_no,
        "raised": yes_or_no,
        "room_width": _between("decimal", 0, most),
        "room_length": _between("decimal", 0, most),
        "edging_wanted": yes_or_no,
        "accepted": yes_or_no,
        "days": _between("integer", 1, most),
        "flights": _between("integer", 0, most),
        "guests": _between("integer", 0, most),
        "miles": _between("decimal", 0, most),
        "width": _between("decimal", 0, longest_side),
        "length": _between("decimal", 0, longest_side),
        "event_date": from_issue_on,
        "accepted_on": from_issue_on,
        "accepted_by": short,
        "questions": {"validate": "any"},
        "picked": {"validate": "list", "source": [*draft.options]},
        "option": {"validate": "list", "source": [*draft.options]},
        "plan_line": {"validate": "list", "source": [str(line) for line in range(1, LINES + 1)]},
    }


def _between(kind: str, least: int, most: float) -> dict[str, object]:
    """A number from `least` to `most`; `kind` is "integer" or "decimal"."""
    return {"validate": kind, "criteria": "between", "minimum": least, "maximum": most}
