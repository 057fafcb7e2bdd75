"""A finding: one thing about a returned file that is not as it was issued, as a value."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from quotebook.checking.kinds import Kind
from quotebook.checking.returned import ReturnedCell
from quotebook.contract.vocabulary import ACCEPTED
from quotebook.contract.wording import shown

AGREES, CHANGED, DISPUTED, UNREADABLE = VERDICTS = ("agrees", "changed", "disputed", "unreadable")

KINDS = frozenset(Kind)


@dataclass(frozen=True)
class Finding:
    """`expected` and `found` are as a person would read them; None for blank."""

    kind: Kind
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
        """Whether it makes its quote disputed."""
        return self.kind.disputes or (self.kind is Kind.INPUT_FORMULA and self.name == ACCEPTED)

    @property
    def reference(self) -> str:
        """What an owner calls it to accept it: `rate-changed:hourly_rate`, by its place where it has no name."""
        place = f"{self.sheet}!{self.cell}" if self.cell else self.sheet
        return f"{self.kind}:{self.name or place}".rstrip(":")


def finding_at(
    found: ReturnedCell, kind: Kind, message: str, name: str, expected: object, effect: Decimal | None
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
    return CHANGED if any(finding.kind.is_free for finding in findings) else AGREES
