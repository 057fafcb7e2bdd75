"""The kinds of finding, each with what it means for the quote."""

from enum import StrEnum


class Kind(StrEnum):
    """A kind of finding, by the name that an owner accepts it by."""

    NOT_RECALCULATED = "not-recalculated"
    INPUT_CHANGED = "input-changed"
    INPUT_FORMULA = "input-formula"
    SHEET_RENAMED = "sheet-renamed"
    SHEET_ADDED = "sheet-added"
    SHEET_HIDDEN = "sheet-hidden"
    INPUT_INVALID = "input-invalid"
    PART_CHANGED = "part-changed"
    RATE_CHANGED = "rate-changed"
    FORMULA_REPLACED = "formula-replaced"
    FORMULA_ALTERED = "formula-altered"
    ARITHMETIC_DIFFERS = "arithmetic-differs"
    NAME_MISSING = "name-missing"
    NAME_REDIRECTED = "name-redirected"
    NAME_DOUBLED = "name-doubled"
    ROW_DELETED = "row-deleted"
    COLUMN_DELETED = "column-deleted"
    SHEET_MISSING = "sheet-missing"
    TEXT_CHANGED = "text-changed"
    CELL_ADDED = "cell-added"
    STAMP_MISSING = "stamp-missing"
    STAMP_BROKEN = "stamp-broken"
    UNKNOWN_QUOTE = "unknown-quote"
    LINES_HIDDEN = "lines-hidden"
    SHEET_DOUBLED = "sheet-doubled"
    COMMENT_ADDED = "comment-added"
    PAGE_CHANGED = "page-changed"
    PICTURE_ADDED = "picture-added"
    FORMAT_CHANGED = "format-changed"
    RULE_ADDED = "rule-added"
    TEXT_UNSEEN = "text-unseen"
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
        return self in _FREE or self.is_seen

    @property
    def is_seen(self) -> bool:
        """Whether it is of what a person sees besides the cells: nobody's dispute, and shown again before agreeing."""
        return self in _SEEN

    @property
    def disputes(self) -> bool:
        """Whether it makes its quote disputed: every kind does that is not known to be harmless."""
        return not (self.leaves_as_issued or self.is_free)

    @property
    def is_an_edit(self) -> bool:
        """Whether it is of something that can be put back, and so has a worth."""
        return self in _EDITS


_FREE = frozenset((Kind.INPUT_CHANGED, Kind.INPUT_FORMULA, Kind.SHEET_RENAMED, Kind.SHEET_ADDED, Kind.SHEET_HIDDEN))
"""What a client is free to do."""

_SEEN = frozenset(
    (
        Kind.LINES_HIDDEN, Kind.SHEET_DOUBLED, Kind.COMMENT_ADDED, Kind.PAGE_CHANGED, Kind.PICTURE_ADDED,
        Kind.FORMAT_CHANGED, Kind.RULE_ADDED, Kind.TEXT_UNSEEN,
    )
)  # fmt: skip
"""What a person sees, or does not see, besides the contents of the cells."""

_EDITS = frozenset(
    (
        Kind.INPUT_CHANGED, Kind.INPUT_FORMULA, Kind.INPUT_INVALID, Kind.PART_CHANGED, Kind.RATE_CHANGED,
        Kind.FORMULA_REPLACED, Kind.FORMULA_ALTERED, Kind.NAME_MISSING, Kind.NAME_REDIRECTED, Kind.NAME_DOUBLED,
        Kind.ROW_DELETED, Kind.COLUMN_DELETED,
    )
)  # fmt: skip
