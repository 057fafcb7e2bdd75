"""A desk with one quote that went out, and what is said of it when it comes back after an edit of its XML."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from edits import Book, Edit

from quotebook import desk as desks
from quotebook.checking.check import Report, check_file
from quotebook.checking.kinds import Kind
from quotebook.contract.labels import Labels
from quotebook.demonstration.demo import EVENTS
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress

TODAY = date(2026, 11, 2)


class IssuedQuote:
    """The demo's first event, issued at a desk of its own."""

    def __init__(self, folder: Path, template: str = "rate_card.xlsx"):
        self.folder, self.desk = folder, desks.init(folder / "desk", template)
        self.path, self.content = issue(self.desk, self.desk.card(), EVENTS[0], "Q0001", TODAY)
        self.book, self.labels = Book(self.path), Labels(self.content)

    def place(self, name: str) -> CellAddress:
        return CellAddress(*self.content.places[name])

    def saved(self, **typed) -> Path:
        """The file with some named cells typed over, and nothing worked out."""
        hand = self.book.edit()
        for name, value in typed.items():
            hand.put(self.place(name), value)
        return hand.save(self.folder / "back.xlsx")

    def said(self, **typed) -> list[str]:
        """What the check says of that, but that nothing is worked out."""
        findings = check_file(self.saved(**typed), self.desk, TODAY).findings
        return [finding.message for finding in findings if finding.kind != Kind.NOT_RECALCULATED]

    def report(self, edit: Callable[[Edit], object]) -> Report:
        """The check's report after an edit."""
        hand = self.book.edit()
        edit(hand)
        return check_file(hand.save(self.folder / "back.xlsx"), self.desk, TODAY)
