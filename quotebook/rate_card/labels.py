"""Holds the labels of the card's single figures against their cells: a name stays at its cell when rows are sorted.

The rows of Firm and Delivery each have a figure of their own. Sorted, or copied over each other, their entries would
stand for one another in silence, while each label went along with its entry.
"""

from collections.abc import Iterator

from quotebook.rate_card.form import Field
from quotebook.rate_card.layout import FORMS
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.filled_in import FilledWorkbook


def moved_figures(book: FilledWorkbook) -> Iterator[str]:
    """A complaint for the first figure of each sheet that has another figure's label beside it.

    A label in the owner's own words is let be, and so is none at all.
    """
    labelled = {_folded(field.label): field for form in FORMS for field in form.fields}
    for form in FORMS:
        for field in form.fields:
            address = book.names.get(field.name)
            found = _label_beside(book, address) if address else ""
            if address and labelled.get(_folded(found), field) is not field:
                yield _complaint(address, field, found)
                break


def _label_beside(book: FilledWorkbook, address: CellAddress) -> str:
    """The nearest text to the left of a cell; empty where there is none."""
    beside = (book.cells.get(address._replace(column=column)) for column in range(address.column - 1, 0, -1))
    return next((text for text in beside if isinstance(text, str)), "")


def _complaint(address: CellAddress, field: Field, found: str) -> str:
    return (
        f'sheet {address.sheet}, cell {address.cell}: found the label "{found}" beside it; allowed: "{field.label}". '
        "Put the rows of this sheet back in their order: undo the sorting, or take your copy."
    )


def _folded(label: str) -> str:
    """A label without what makes no difference: capitals, spaces, and a colon at its end."""
    return " ".join(label.split()).rstrip(" :").casefold()
