"""The rules for the cells of the rate card.

A rule says in words what it allows (`allowed`), and turns the contents of a cell into a value (`read`). The reader of
the card and the card's own data validation both use it.
"""

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Protocol

from iso4217 import Currency

from quotebook.engine.model import same_text
from quotebook.engine.money import MINOR_UNITS, ONE, ZERO
from quotebook.spreadsheets.filled_in import describe

PLACES = 6
"""The most decimal places of an entry; any further ones would be lost when a price is rounded."""

Value = str | Decimal | bool | date
"""What an entry of the card can be read as."""


class Rule(Protocol):
    """What one cell may hold."""

    @property
    def allowed(self) -> str:
        """The entries that are allowed, in words that end a sentence."""

    def read(self, entry: object) -> Value:
        """The value of a cell's contents, as `filled_in.read_filled_workbook` gives them.

        Raises ValueError, with what is allowed, for contents that are not.
        """


@dataclass(frozen=True)
class Number:
    """A number in a range; with `above`, `least` itself is not allowed."""

    most: Decimal
    least: Decimal = ZERO
    above: bool = False
    whole: bool = False

    @property
    def allowed(self) -> str:
        kind = "a whole number" if self.whole else "a number"
        if self.above:
            return f"{kind} above {self.least:,}, at most {self.most:,}"
        return f"{kind} from {self.least:,} to {self.most:,}"

    def read(self, entry: object) -> Decimal:
        if not isinstance(entry, Decimal) or not self._in_range(entry):
            raise ValueError(self.allowed)
        if entry != round(entry, 0 if self.whole else PLACES):
            raise ValueError(self.allowed if self.whole else f"{self.allowed}, of at most {PLACES} decimal places")
        return Decimal(entry)

    def _in_range(self, entry: Decimal) -> bool:
        return self.least <= entry <= self.most and not (self.above and entry == self.least)


@dataclass(frozen=True)
class Share(Number):
    """A part of a whole, entered as a percentage."""

    most: Decimal = ONE

    @property
    def allowed(self) -> str:
        return "a percentage from 0 % to 100 % (0 to 1 in a cell that shows no %)"


@dataclass(frozen=True)
class Text:
    """Text up to a length."""

    longest: int

    @property
    def allowed(self) -> str:
        return f"text of at most {self.longest} characters"

    def read(self, entry: object) -> str:
        if not isinstance(entry, str) or len(entry) > self.longest:
            raise ValueError(self.allowed)
        return entry


@dataclass(frozen=True)
class Pattern(Text):
    """Text of one form, which `allowed_form` describes in words."""

    form: re.Pattern[str]
    allowed_form: str

    @property
    def allowed(self) -> str:
        return self.allowed_form

    def read(self, entry: object) -> str:
        text = super().read(entry)
        if not self.form.fullmatch(text):
            raise ValueError(self.allowed)
        return text


@dataclass(frozen=True)
class Words:
    """One of a few words, in capitals or not."""

    words: tuple[str, ...]

    @property
    def allowed(self) -> str:
        return " or ".join([", ".join(self.words[:-1]), self.words[-1]])

    def word(self, entry: object) -> str:
        """The word that an entry is. Raises ValueError for any other entry."""
        for word in self.words:
            if isinstance(entry, str) and same_text(word, entry):
                return word
        raise ValueError(self.allowed)


@dataclass(frozen=True)
class Choice(Words):
    """A choice among words, read as the word."""

    def read(self, entry: object) -> str:
        return self.word(entry)


@dataclass(frozen=True)
class YesNo(Words):
    """Yes or no, read as True or False."""

    words: tuple[str, ...] = ("yes", "no")

    def read(self, entry: object) -> bool:
        return self.word(entry) == "yes"


@dataclass(frozen=True)
class Day:
    """A date."""

    first: date = date(1950, 1, 1)
    last: date = date(2199, 12, 31)

    @property
    def allowed(self) -> str:
        return f"a date from {self.first} to {self.last}"

    def read(self, entry: object) -> date:
        if not isinstance(entry, date) or not self.first <= entry <= self.last:
            raise ValueError(self.allowed)
        return entry


@dataclass(frozen=True)
class CurrencyCode:
    """A currency of ISO 4217 with a smallest unit that `engine.money` can round to."""

    allowed = "a currency code of ISO 4217 with 0, 2 or 3 decimal places, such as USD, JPY or BHD"

    def read(self, entry: object) -> str:
        if not isinstance(entry, str) or minor_units(entry) not in MINOR_UNITS:
            raise ValueError(self.allowed)
        return entry.upper()


def found_in(entry: object, rule: Rule) -> str:
    """The contents of a cell as a message shows them; of digits that are a text, also that they are one."""
    kept_as = "the text " if isinstance(entry, str) and isinstance(rule, (Number, Day)) else ""
    return kept_as + describe(entry)


def minor_units(currency: str) -> int | None:
    """Decimal places of a currency, from the list of ISO 4217; None where it has none or is unknown."""
    try:
        places: int | None = Currency(currency.upper()).exponent
    except ValueError:
        return None
    return places


_MONTH = (
    "jan(uary)?|feb(ruary)?|mar(ch)?|apr(il)?|may|june?|july?|"
    "aug(ust)?|sept?(ember)?|oct(ober)?|nov(ember)?|dec(ember)?"
)

CODE = Pattern(
    20,
    re.compile(rf"(?i)(?!(\d+-?)?({_MONTH})(-?\d+)?$|\d+e-?\d+$|true$|false$)(?=.*[a-z])[a-z0-9][a-z0-9-]*", re.ASCII),
    "at most 20 letters A to Z, digits and hyphens, with a letter among them and no hyphen in front, "
    "and nothing that a spreadsheet would turn into a date or a number (MAR-4, 1E5)",
)  # fmt: skip
"""A code is typed into a quote, where `*` or `?` would match other codes and a program would turn it into a date."""

COLOUR = Pattern(7, re.compile("#[0-9A-Fa-f]{6}"), "# and six digits 0-9 or A-F, such as #1F5C4D")

REGION = Pattern(2, re.compile("[A-Z]{2}"), "two capital letters, such as US, MX or FR (ISO 3166), or nothing")

PICTURE = Pattern(
    100, re.compile(r"(?i)[^/\\:]+\.(png|jpe?g)"), "the name of a .png or .jpg file beside this rate card, or nothing"
)
