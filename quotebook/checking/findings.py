"""A finding: one thing about a returned file that is not as it was issued, as a value."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from quotebook.checking.returned import ReturnedCell
from quotebook.contract.wording import shown

AGREES, CHANGED, DISPUTED, UNREADABLE = VERDICTS = ("agrees", "changed", "disputed", "unreadable")

NO_CHANGE = {"not-recalculated"}
"""Kinds of finding that leave a quote as issued."""
FREE_CHANGES = {"input-changed", "sheet-renamed", "sheet-added", "sheet-hidden"}
"""Kinds that a client is free to make."""
DISPUTING = {
    "input-invalid", "rate-changed", "formula-replaced", "formula-altered", "arithmetic-differs", "name-missing",
    "name-redirected", "name-doubled", "sheet-missing", "text-changed", "cell-added", "stamp-missing", "stamp-broken",
    "older-revision", "expired", "other-rules", "foreign-part",
}  # fmt: skip
"""Kinds that make a quote disputed."""
READING = {"not-a-quote", "unreadable"}
"""Kinds of a file that no quote was found in."""
KINDS = NO_CHANGE | FREE_CHANGES | DISPUTING | READING


@dataclass(frozen=True)
class Finding:
    """`expected` and `found` are as a person would read them; None for blank."""

    kind: str
    message: str
    name: str = ""
    sheet: str = ""
    cell: str = ""
    expected: str | None = None
    found: str | None = None
    effect: Decimal | None = None
    """What it alone adds to the sheet's total, in money; None where it has no price."""

    @property
    def disputes(self) -> bool:
        """Whether it makes its quote disputed: every kind that is not known to be harmless does."""
        return self.kind not in FREE_CHANGES | NO_CHANGE

    @property
    def reference(self) -> str:
        """What an owner calls it to accept it: `rate-changed:hourly_rate`, by its place where it has no name."""
        place = f"{self.sheet}!{self.cell}" if self.cell else self.sheet
        return f"{self.kind}:{self.name or place}".rstrip(":")


def finding_at(
    found: ReturnedCell, kind: str, message: str, name: str, expected: object, effect: Decimal | None
) -> Finding:
    """A finding about one cell, with the cell's place and value."""
    place = found.place
    return Finding(
        kind, message, name, place.sheet, place.cell, shown(name, expected), shown(name, found.value), effect
    )


def verdict_of(findings: Iterable[Finding]) -> str:
    """AGREES where nothing changed, CHANGED where only what a client may change did, else DISPUTED."""
    findings = tuple(findings)
    if any(finding.disputes for finding in findings):
        return DISPUTED
    return CHANGED if any(finding.kind in FREE_CHANGES for finding in findings) else AGREES
