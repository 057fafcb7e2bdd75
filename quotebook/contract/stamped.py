"""Reads what the stamp of an issued quote signs, as values of the engine's own types."""

from decimal import Decimal

from quotebook.contract.stamp import Content
from quotebook.contract.values import CellValue, day_of
from quotebook.engine.model import Papers


def papers_of(content: Content) -> Papers:
    """The number, revision and days of an issued quote."""
    owner = content.owner
    return Papers(
        quote_number=_text(owner["quote_number"]),
        revision=_number(owner["revision"]),
        issued_on=day_of(_number(owner["issued_on"])),
        valid_until=day_of(_number(owner["valid_until"])),
    )


def minor_units_of(content: Content) -> Decimal:
    """How many decimal places the amounts of an issued quote have."""
    return _number(content.owner["minor_units"])


def discount_share_of(content: Content) -> Decimal:
    """The discount that an issued quote grants, as a share of the goods."""
    return _number(content.owner["discount_share"])


def amount_of(content: Content, name: str) -> Decimal:
    """A figure of an issued quote as the engine worked it out, such as `total`, in the currency's own unit."""
    return _number(content.results[name])


def _text(value: CellValue) -> str:
    if not isinstance(value, str):
        raise TypeError(f"a stamp has {value!r} where a text belongs")
    return value


def _number(value: CellValue) -> Decimal:
    if not isinstance(value, Decimal):
        raise TypeError(f"a stamp has {value!r} where a number belongs")
    return value
