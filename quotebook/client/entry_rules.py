"""What a spreadsheet program lets a client type into the entries of a quote.

These rules are only a help while typing: every entry is checked again when the workbook comes back.
"""

from quotebook.client.draft import QuoteDraft


def entry_rule(name: str, draft: QuoteDraft) -> dict[str, object] | None:
    """The data validation of an entry as XlsxWriter takes it; None for an entry that may hold anything."""
    stem, _, number = name.rpartition("_")
    return _rules(draft).get(stem if number.isdigit() else name)


def _rules(draft: QuoteDraft) -> dict[str, dict[str, object]]:
    """By entry; the entries of floor lines without their number."""
    most, longest_side = float(draft.issue.rates.largest_entry), float(draft.issue.rates.longest_side)
    yes_or_no: dict[str, object] = {"validate": "list", "source": list(draft.dictionary.yes_no.values())}
    from_issue_on: dict[str, object] = {"validate": "date", "criteria": ">=", "value": draft.issue.papers.issued_on}
    return {
        "surface": {"validate": "list", "source": "=surfaces"},
        "panel": {"validate": "list", "source": "=kinds_panel"},
        "after_hours": yes_or_no,
        "waiver_taken": yes_or_no,
        "raised": yes_or_no,
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
    }


def _between(kind: str, least: int, most: float) -> dict[str, object]:
    """A number from `least` to `most`; `kind` is "integer" or "decimal"."""
    return {"validate": kind, "criteria": "between", "minimum": least, "maximum": most}
