"""Reads one request: a floor from a word, and checks its entries."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import time
from decimal import Decimal

from quotebook.contract.values import request_of
from quotebook.engine.entries import options_in, problems
from quotebook.engine.model import LINES, OPTIONS, FloorLine, RateCard, Request
from quotebook.errors import InvalidInput, Misuse
from quotebook.spreadsheets.filled_in import describe

SIDE = r"\d{1,9}(?:\.\d{1,6})?"
TIMES = "[x\N{MULTIPLICATION SIGN}]"
"""Between the sides of a floor: the letter, or the sign that some keyboards make of it."""
FLOOR = re.compile(
    rf"(?P<panel>[^:]+):(?P<width>{SIDE}){TIMES}(?P<length>{SIDE})(?::(?P<edging>edging|bare))?", re.ASCII
)
OPTION = re.compile(rf"\s*([{''.join(OPTIONS)}])\s*=\s*", re.IGNORECASE)
"""The letter of an option in front of a floor, as in `A=OAK-44:16x20`."""

_STRANGE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""What no XML can hold, and so no workbook (W3C XML 1.0, section 2.2), and bytes that were no text."""

EMAIL = re.compile(r"[^\s@<>()\[\],;:\"]+@[^\s@<>()\[\],;:\"]+")


@dataclass(frozen=True)
class Enquiry:
    """A request, and what the firm notes beside it."""

    request: Request
    email: str = ""
    """The address for its quote."""
    phone: str = ""
    language: str = ""
    """Of the quote; empty for the card's."""
    event_start: time | None = None
    access_from: time | None = None
    access_until: time | None = None
    """When the event starts, and between when the crew can get in, by the clock of the place."""
    tax_exempt: str = ""
    """Why no tax is charged; empty where it is."""

    def card_from(self, card: RateCard) -> RateCard:
        """The card as it holds for this enquiry: in its language, and without tax for a client who is exempt."""
        own = card.in_language(self.language) if self.language else card
        return replace(own, rates=own.rates.without_tax()) if self.tax_exempt else own


def parse_floor(text: str, card: RateCard, surface: str) -> FloorLine:
    """The floor that `CODE:WIDTHxLENGTH[:edging|:bare]` asks for, in the card's unit of length.

    Without `:edging` or `:bare`, edging is fitted as the card says for `surface`, if the firm keeps
    any for that panel. `valid_request` checks whether the panel is on the card. Raises Misuse for a
    text of another form.
    """
    match = FLOOR.fullmatch(text.strip())
    if not match:
        code = card.rates.kinds[0].panel
        raise Misuse(
            f'"{text}" is not a floor; allowed: CODE:WIDTHxLENGTH, such as {code}:16x20 or {code}:16.5x20, '
            "with or without :edging or :bare after it"
        )
    kind = card.rates.kind(match["panel"].strip())
    if match["edging"]:
        edging_wanted = match["edging"] == "edging"
    else:
        edging_wanted = card.firm.edging_on(surface) and kind is not None and kind.piece > 0
    panel = kind.panel if kind else match["panel"].strip()
    return FloorLine(panel, Decimal(match["width"]), Decimal(match["length"]), edging_wanted)


def split_option(text: str) -> tuple[str, str]:
    """The letter of the option in front of a floor, and the floor; no letter where it belongs to every option."""
    match = OPTION.match(text)
    return (match[1].upper(), text[match.end() :]) if match else ("", text)


def with_first_option(entries: Mapping[str, object]) -> dict[str, object]:
    """The entries of a new request with its first option picked; unchanged where no floor belongs to an option."""
    options = options_in(entries)
    return {**entries, "picked": options[0]} if options else {**entries}


def floor_entries(number: int, line: FloorLine) -> dict[str, object]:
    """A floor line as entries by name, such as `panel_1` and `width_1` for the line with number 1."""
    return {f"{name}_{number}": value for name, value in vars(line).items()}


def valid_request(card: RateCard, entries: Mapping[str, object], every_option: bool = True) -> Request:
    """The request with these entries.

    `entries` maps the names of inputs, and `discount_share`, to Decimal, date, bool, text or None, as
    `engine.entries` takes them. `every_option` is whether options that are not picked have to be possible too.
    Raises InvalidInput with a line for each entry that cannot be used.
    """
    if complaints := [f"{name}: {complaint}" for name, complaint in request_complaints(card, entries, every_option)]:
        raise InvalidInput("The request cannot be priced:", complaints)
    return request_of(entries, entries)


def request_complaints(
    card: RateCard, entries: Mapping[str, object], every_option: bool = True
) -> Iterator[tuple[str, str]]:
    """What is wrong with a request: the name of each input, and a sentence with what was found and what is allowed.

    With `every_option` options that are not picked are looked at too.
    """
    options = options_in(entries)
    if every_option and len(options) == 1:
        yield f"option_{_first_line(entries, options[0])}", f"only option {options[0]} was given; allowed: at least two"
    picks = options if every_option and options else [entries.get("picked")]
    found = (problem for picked in picks for problem in problems(card.rates, {**entries, "picked": picked}))
    for problem in {problem.name: problem for problem in found}.values():
        yield problem.name, found_and_allowed(problem.found, problem.allowed)
    for name, value in entries.items():
        if isinstance(value, str) and (strange := _STRANGE.search(value)):
            yield name, f"found the sign U+{ord(strange[0]):04X}, which is no text; allowed: letters, digits and signs"
    share = entries.get("discount_share")
    if share is not None and not (isinstance(share, Decimal) and 0 <= share <= 1):
        if isinstance(share, Decimal):
            yield "discount_share", f"found {share:%}; allowed: from 0% to 100%"
        else:
            yield "discount_share", found_and_allowed(share, "from 0% to 100%, with a decimal point")
    if not any(entries.get(f"panel_{line}") for line in range(1, LINES + 1)):
        yield "panel_1", found_and_allowed(None, "at least one floor")


def _first_line(entries: Mapping[str, object], option: str) -> int:
    """The number of the first floor line of an option."""
    return next(line for line in range(1, LINES + 1) if entries.get(f"option_{line}") == option)


def found_and_allowed(found: object, allowed: str) -> str:
    """What a message says of an entry that cannot be used."""
    return f"found {describe(found)}; allowed: {allowed}"
