"""What a spreadsheet program lets an owner enter in the rate card, and what it says about each entry.

These rules are only a help while typing: every entry is checked again when the card is read.
"""

from decimal import Decimal

from xlsxwriter.utility import xl_range_abs

from quotebook.rate_card.form import Field, Table
from quotebook.rate_card.layout import PANELS, SUBFLOORS
from quotebook.rate_card.rules import CurrencyCode, Day, Number, Rule, Text, Words


def validation(field: Field, first_row: int, table: Table | None = None) -> dict[str, object]:
    """The data validation of an entry as XlsxWriter takes it, with the note that appears when the cell is selected.

    `first_row` is the row of a table's first entries, from 0.
    """
    notes: dict[str, object] = {
        "input_title": field.label[:32],
        "input_message": field.meaning[:255],
        "error_title": field.label[:32],
        "error_message": f"Allowed: {field.rule.allowed}."[:255],
    }
    allowed = _allowed_list(field, first_row, table)
    return notes | ({"validate": "list", "source": allowed} if allowed else _bounds(field.rule))


def _allowed_list(field: Field, first_row: int, table: Table | None) -> list[str] | str | None:
    """What the cell's dropdown offers: words, or the range that holds them; None for a cell without one."""
    if isinstance(field.rule, Words):
        return list(field.rule.words)
    if table is PANELS and field.name == "subfloor_kind":
        return f"='{SUBFLOORS.title}'!{xl_range_abs(first_row, 1, first_row + SUBFLOORS.rows - 1, 1)}"
    return None


def _bounds(rule: Rule) -> dict[str, object]:
    """The part of a data validation that bounds a number, a date or the length of a text."""
    match rule:
        case Number():
            least = rule.least + Decimal("0.000001") if rule.above else rule.least
            kind = "integer" if rule.whole else "decimal"
            return {"validate": kind, "criteria": "between", "minimum": least, "maximum": rule.most}
        case Day():
            return {"validate": "date", "criteria": "between", "minimum": rule.first, "maximum": rule.last}
        case CurrencyCode():
            return {"validate": "length", "criteria": "==", "value": 3}
        case Text():
            return {"validate": "length", "criteria": "between", "minimum": 1, "maximum": rule.longest}
    raise TypeError(f"no validation for {rule!r}")
