"""Reads what the stamp of an issued quote signs, as values of the engine's own types."""

from decimal import Decimal
from typing import NamedTuple

from quotebook.contract.option_formulas import suffix
from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue, Dictionary, day_of, entries_of, request_of, side_by_side
from quotebook.contract.vocabulary import REPLIES, TABLES
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.engine.model import OPTIONS, Papers, Request


def papers_of(content: Content) -> Papers:
    """The number, revision and days of an issued quote."""
    owner = content.owner
    return Papers(
        quote_number=_text(owner["quote_number"]),
        revision=_number(owner["revision"]),
        issued_on=day_of(_number(owner["issued_on"])),
        valid_until=day_of(_number(owner["valid_until"])),
    )


def language_of(content: Content) -> str:
    """The language of an issued quote, by its word for yes."""
    return next((each for each in LANGUAGES if words_in(each)["words"]["yes"] == content.owner["word_yes"]), "en")


def minor_units_of(content: Content) -> Decimal:
    """How many decimal places the amounts of an issued quote have."""
    return _number(content.owner["minor_units"])


def discount_share_of(content: Content) -> Decimal:
    """The discount that an issued quote grants, as a share of the goods."""
    return _number(content.owner["discount_share"])


def amount_of(content: Content, name: str) -> Decimal:
    """A figure of an issued quote as the engine worked it out, such as `total`, in the currency's own unit."""
    return _number(content.results[name])


class Offered(NamedTuple):
    """One of the options of an issued quote."""

    option: str
    """Its letter."""
    what: str
    """Its floors in words, without those that belong to every option."""
    note: str
    """What to note of it; may be empty."""
    total: Decimal
    deposit: Decimal
    cannot_be_had: bool


def options_of(content: Content) -> tuple[Offered, ...]:
    """The options that an issued quote offers; none for most quotes."""
    results = content.results
    return tuple(
        Offered(
            option,
            _text(results[f"option_said{suffix(option)}"]).strip(),
            _text(results[f"option_note{suffix(option)}"]).strip(),
            amount_of(content, f"total{suffix(option)}"),
            amount_of(content, f"deposit{suffix(option)}"),
            bool(results[f"cannot{suffix(option)}"]),
        )
        for option in OPTIONS
        if f"total{suffix(option)}" in results
    )


def request_as_issued(content: Content) -> Request:
    """What an issued quote was for, before its client changed anything."""
    dictionary = Dictionary(content.owner, side_by_side(content.tables["surfaces"][0]))
    return request_of(entries_of(entry_names(content), content.inputs, dictionary), content.owner)


def entry_names(content: Content) -> tuple[str, ...]:
    """The entries of an issued quote that its price may rest on: the client's cells, without those for an answer."""
    return tuple(name for name in content.inputs if name not in REPLIES)


def table_columns(content: Content) -> dict[str, tuple[str, ...]]:
    """The columns of each table of an issued quote, by the table; the first tells the rows apart."""
    columns = {table: tuple(name for name in content.tables if name.startswith(f"{table}_")) for table in TABLES}
    return {table: names for table, names in columns.items() if names}


def _text(value: CellValue) -> str:
    if not isinstance(value, str):
        raise TypeError(f"a stamp has {value!r} where a text belongs")
    return value


def _number(value: CellValue) -> Decimal:
    if not isinstance(value, Decimal):
        raise TypeError(f"a stamp has {value!r} where a number belongs")
    return value
