"""What the sheets of the rate card consist of: fields, sections, forms and tables."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from quotebook.rate_card.rules import Rule, Value

REQUIRED = None
"""The `blank` of a cell that must be filled."""


@dataclass(frozen=True)
class Field:
    """One figure of a form, or one column of a table."""

    name: str
    label: str
    unit: str
    """May hold `{money}` and the words of UNITS in braces."""
    rule: Rule
    meaning: str
    blank: Value | None = REQUIRED
    """The value of an empty cell; REQUIRED where it must not be empty."""
    absent: Value | Mapping[str, Value] | None = field(default=REQUIRED, hash=False)
    """The value on a card that was made before this figure was asked for, which has no cell for it: one value, or one
    for each unit of length; REQUIRED for the figures that every card has had."""

    def value_if_absent(self, length_unit: str) -> Value:
        """What a card that has no cell for this figure counts as saying, in its unit of length."""
        value = self.absent[length_unit] if isinstance(self.absent, Mapping) else self.absent
        if value is None:
            raise LookupError(f"every card has had {self.name}")
        return value


@dataclass(frozen=True)
class Section:
    """Fields under one heading."""

    heading: str
    fields: tuple[Field, ...]


@dataclass(frozen=True)
class Form:
    """A sheet of single figures, one below another."""

    title: str
    name: str
    purpose: str
    sections: tuple[Section, ...]

    @property
    def fields(self) -> Iterator[Field]:
        """The fields of all sections in order."""
        return (field for section in self.sections for field in section.fields)


@dataclass(frozen=True)
class Table(Form):
    """A sheet of rows under headings, with its sections side by side."""

    rows: int
    """The rows that are formatted for entries; rows below them are read too."""

    def column_name(self, field: Field) -> str:
        """The defined name of a column."""
        return f"{self.name}_{field.name}"
