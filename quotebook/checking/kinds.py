"""The kinds of finding, each with what it means for the quote."""

from enum import StrEnum


class Kind(StrEnum):
    """A kind of finding, by the name that an owner accepts it by."""

    NOT_RECALCULATED = "not-recalculated"
    INPUT_CHANGED = "input-changed"
    SHEET_RENAMED = "sheet-renamed"
    SHEET_ADDED = "sheet-added"
    SHEET_HIDDEN = "sheet-hidden"
    INPUT_INVALID = "input-invalid"
    RATE_CHANGED = "rate-changed"
    FORMULA_REPLACED = "formula-replaced"
    FORMULA_ALTERED = "formula-altered"
    ARITHMETIC_DIFFERS = "arithmetic-differs"
    NAME_MISSING = "name-missing"
    NAME_REDIRECTED = "name-redirected"
    NAME_DOUBLED = "name-doubled"
    SHEET_MISSING = "sheet-missing"
    TEXT_CHANGED = "text-changed"
    CELL_ADDED = "cell-added"
    STAMP_MISSING = "stamp-missing"
    STAMP_BROKEN = "stamp-broken"
    OLDER_REVISION = "older-revision"
    EXPIRED = "expired"
    OTHER_RULES = "other-rules"
    FOREIGN_PART = "foreign-part"
    UNKNOWN_CONTENT = "unknown-content"
    STAMP_SHOWN = "stamp-shown"
    NOT_A_QUOTE = "not-a-quote"
    UNREADABLE = "unreadable"

    @property
    def leaves_as_issued(self) -> bool:
        """Whether the quote is still as it was issued."""
        return self in (Kind.NOT_RECALCULATED, Kind.OTHER_RULES, Kind.STAMP_SHOWN)

    @property
    def is_free(self) -> bool:
        """Whether a client is free to make such a change."""
        return self in (Kind.INPUT_CHANGED, Kind.SHEET_RENAMED, Kind.SHEET_ADDED, Kind.SHEET_HIDDEN)

    @property
    def disputes(self) -> bool:
        """Whether it makes its quote disputed: every kind does that is not known to be harmless."""
        return not (self.leaves_as_issued or self.is_free)

    @property
    def is_an_edit(self) -> bool:
        """Whether it is of something that can be put back, and so has a worth."""
        return self in _EDITS


_EDITS = frozenset(
    (
        Kind.INPUT_CHANGED, Kind.INPUT_INVALID, Kind.RATE_CHANGED, Kind.FORMULA_REPLACED, Kind.FORMULA_ALTERED,
        Kind.NAME_MISSING, Kind.NAME_REDIRECTED, Kind.NAME_DOUBLED,
    )
)  # fmt: skip
