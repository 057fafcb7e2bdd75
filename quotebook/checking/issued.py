"""Finds what was issued for a returned workbook: by its stamp, and by what the desk and its ledger know."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from quotebook.checking.comparison import Comparison
from quotebook.checking.findings import Finding
from quotebook.checking.kinds import Kind
from quotebook.checking.returned import Returned
from quotebook.contract.stamp import Content, StampBroken, stamp_texts, unseal
from quotebook.contract.stamped import papers_of
from quotebook.contract.vocabulary import PAPERS
from quotebook.contract.wording import shown
from quotebook.desk import Desk
from quotebook.errors import Unreadable
from quotebook.ledger import Ledger
from quotebook.ledger.database import has_ledger, ledger_url
from quotebook.ledger.revisions import Revisions, read_revisions
from quotebook.spreadsheets.cells import Workbook

IDENTITY = tuple(name for name in PAPERS if name != "discount_share")
"""What tells an issued quote from its namesakes at other desks: its number, its revision and its days."""
ASK_AGAIN = "Ask the client for the file that you sent, with the changes in it."


@dataclass(frozen=True)
class IssuedQuotes:
    """The quotes that a desk knows to have been issued: those in its ledger, and those that it keeps."""

    desk: Desk
    in_ledger: Revisions = field(default_factory=Revisions)
    """None without a ledger."""

    def latest_revision(self, number: str) -> int:
        """The last revision of a quote that was issued, at any desk with this ledger; 0 for none."""
        return max(*self.in_ledger.of(number), 0, self.desk.latest_revision(number))

    def doubt(self, content: Content) -> Finding | None:
        """Why a quote that is signed with this desk's key is none of this ledger's; None where it is."""
        papers = papers_of(content)
        number, revision = papers.quote_number, int(papers.revision)
        known = self.in_ledger.of(number).get(revision)
        if known:
            said = content.inputs["client"] or "", shown("event_date", content.inputs["event_date"])
            if (papers.issued_on, *said) == (known.issued_on, known.client, str(known.event_date)):
                return None
            message = f"{number} revision {revision} of this ledger is another quote, for {known.client or 'no name'}"
        elif not self.in_ledger or self.desk.issued_path(number, revision).exists():
            return None
        else:
            message = f"{number} revision {revision} is not in this ledger"
        return Finding(Kind.UNKNOWN_QUOTE, f"{message}: another desk issued this file. Check it there.")


def issued_quotes(desk: Desk, ledger: Ledger | None = None) -> IssuedQuotes:
    """What a desk knows to have been issued, by a ledger or else by its own. Raises what `Ledger` raises."""
    if ledger is None and has_ledger(desk.folder):
        ledger = Ledger(ledger_url(desk.folder))
    return IssuedQuotes(desk, read_revisions(ledger) if ledger else Revisions())


def issued_content(workbook: Workbook, desk: Desk) -> tuple[Content | None, tuple[Finding, ...]]:
    """What was issued, by the file's own stamp; None, and why, where that does not vouch for it.

    A file without a stamp that states the number, revision and days of a quote that the desk keeps is held
    against that copy.
    """
    texts = stamp_texts(workbook)
    if texts is None:
        kept = _kept(workbook, desk)
        if kept and all(stated(workbook, name) == kept.owner[name] for name in IDENTITY):
            return kept, (_missing("The file was checked against the copy kept here of the quote as issued."),)
        return None, (_missing(f"There is no copy here of the quote that the file says it is. {ASK_AGAIN}"),)
    content = _unsealed(texts, desk)
    if content is None:
        message = "The signature of what was issued (on the hidden sheet stamp) was altered, or another desk made it."
        return None, (Finding(Kind.STAMP_BROKEN, f"{message} {ASK_AGAIN}"),)
    if _is_of_another_quote(workbook, content, desk):
        message = "What was signed (on the hidden sheet stamp) is {} revision {}, and not what the file says it is."
        return None, (Finding(Kind.STAMP_BROKEN, f"{message.format(*_papers(content))} {ASK_AGAIN}"),)
    return content, ()


def _missing(rest: str) -> Finding:
    return Finding(Kind.STAMP_MISSING, f"What you signed when you issued it (the hidden sheet stamp) is gone. {rest}")


def _is_of_another_quote(workbook: Workbook, content: Content, desk: Desk) -> bool:
    """Whether a stamp was put there from another quote: an edited number differs by less from its own issue."""
    if (stated(workbook, "quote_number"), stated(workbook, "revision")) == _papers(content):
        return False
    kept = _kept(workbook, desk)
    return kept is not None and _differences(workbook, kept) < _differences(workbook, content)


def _differences(workbook: Workbook, content: Content) -> int:
    """How many names, entries, rates and formulas are not as issued."""
    comparison = Comparison(content, Returned(workbook, content))
    return len(comparison.edits)


def _papers(content: Content) -> tuple[object, object]:
    return content.owner["quote_number"], content.owner["revision"]


def _kept(workbook: Workbook, desk: Desk) -> Content | None:
    """What the desk's own copy says was issued under the number and revision that the file states."""
    number, revision = stated(workbook, "quote_number"), stated(workbook, "revision")
    if not isinstance(number, str) or not isinstance(revision, Decimal):
        return None
    try:
        return _unsealed(desk.issued_stamp(number, int(revision)), desk)
    except (Unreadable, OSError):  # a copy that is damaged, or a number that no file can be named by
        return None


def _unsealed(texts: Iterable[str] | None, desk: Desk) -> Content | None:
    if texts is None:
        return None
    try:
        return unseal(texts, desk.key())
    except StampBroken:
        return None


def stated(workbook: Workbook, name: str) -> object:
    """What a file itself says at a name; None where it says nothing."""
    area = workbook.resolve(name)
    if area is None:
        return None
    sheet = next((sheet for sheet in workbook.sheets if sheet.name == area.sheet), None)
    cell = sheet.cells.get((area.top, area.left)) if sheet else None
    return cell.value if cell else None
