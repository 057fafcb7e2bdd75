"""Reads requests: one floor from a word, many requests from a list, and checks the entries of either."""

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

from quotebook.contract.values import request_of
from quotebook.engine.entries import problems
from quotebook.engine.model import LINES, SURFACES, FloorLine, RateCard, Request, same_text
from quotebook.engine.money import number
from quotebook.errors import InvalidInput, Misuse
from quotebook.quoting.lists import Cell, read_list
from quotebook.spreadsheets.filled_in import Percentage, Unusable, describe

COLUMNS = (
    "client", "event", "event_date", "days", "venue", "surface", "miles", "flights", "guests", "after_hours",
    "waiver_taken", "raised", "discount", *(f"floor_{line}" for line in range(1, LINES + 1)), "email",
)  # fmt: skip
"""Headings of a list of requests, in any order. A column that is missing counts as empty."""

NUMBERS = ("days", "miles", "flights", "guests")
NUMBER = re.compile(r"-?\d{1,15}(\.\d{1,15})?", re.ASCII)
DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
HOW_WRITTEN = {"event_date": ", written 2027-06-19", "miles": ", with a decimal point"}
YES_NO = {"yes": True, "no": False}

SIDE = r"\d{1,9}(?:\.\d{1,6})?"
TIMES = "[x\N{MULTIPLICATION SIGN}]"
"""Between the sides of a floor: the letter, or the sign that some keyboards make of it."""
FLOOR = re.compile(
    rf"(?P<panel>[^:]+):(?P<width>{SIDE}){TIMES}(?P<length>{SIDE})(?::(?P<edging>edging|bare))?", re.ASCII
)
FLOOR_FORM = "CODE:WIDTHxLENGTH, such as OAK-44:16x20 or OAK-44:16.5x20, with or without :edging or :bare after it"

_STRANGE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""What no XML can hold, and so no workbook (W3C XML 1.0, section 2.2), and bytes that were no text."""

EMAIL = re.compile(r"[^\s@<>()\[\],;:\"]+@[^\s@<>()\[\],;:\"]+")


@dataclass(frozen=True)
class Enquiry:
    """A request, and the address for its quote."""

    request: Request
    email: str = ""


def parse_floor(text: str, card: RateCard, surface: str) -> FloorLine:
    """The floor that `CODE:WIDTHxLENGTH[:edging|:bare]` asks for, in the card's unit of length.

    Without `:edging` or `:bare`, edging is fitted as the card says for `surface`, if the firm keeps
    any for that panel. `valid_request` checks whether the panel is on the card. Raises Misuse for a
    text of another form.
    """
    match = FLOOR.fullmatch(text.strip())
    if not match:
        raise Misuse(f'"{text}" is not a floor; allowed: {FLOOR_FORM}')
    kind = card.rates.kind(match["panel"].strip())
    if match["edging"]:
        edging_wanted = match["edging"] == "edging"
    else:
        edging_wanted = card.firm.edging_on(surface) and kind is not None and kind.piece > 0
    panel = kind.panel if kind else match["panel"].strip()
    return FloorLine(panel, Decimal(match["width"]), Decimal(match["length"]), edging_wanted)


def floor_entries(number: int, line: FloorLine) -> dict[str, object]:
    """A floor line as entries by name, such as `panel_1` and `width_1` for the line with number 1."""
    return {f"{name}_{number}": value for name, value in vars(line).items()}


def valid_request(card: RateCard, entries: Mapping[str, object]) -> Request:
    """The request with these entries.

    `entries` maps the names of inputs, and `discount_share`, to Decimal, date, bool, text or None, as
    `engine.entries` takes them. Raises InvalidInput with a line for each entry that cannot be used.
    """
    if complaints := [f"{name}: {complaint}" for name, complaint in _complaints(card, entries)]:
        raise InvalidInput("The request cannot be priced:", complaints)
    return _request(entries)


def _request(entries: Mapping[str, object]) -> Request:
    return request_of(entries, entries)


def _complaints(card: RateCard, entries: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """What is wrong with a request: the name of each input, and a sentence with what was found and what is allowed."""
    for problem in problems(card.rates, entries):
        yield problem.name, _found(problem.found, problem.allowed)
    for name, value in entries.items():
        if isinstance(value, str) and (strange := _STRANGE.search(value)):
            yield name, f"found the sign U+{ord(strange[0]):04X}, which is no text; allowed: letters, digits and signs"
    share = entries.get("discount_share")
    if share is not None and not (isinstance(share, Decimal) and 0 <= share <= 1):
        percentage = f"{share:%}" if isinstance(share, Decimal) else describe(share)
        yield "discount_share", f"found {percentage}; allowed: from 0% to 100%"
    if not any(entries.get(f"panel_{line}") for line in range(1, LINES + 1)):
        yield "panel_1", _found(None, "at least one floor")


def _found(found: object, allowed: str) -> str:
    return f"found {describe(found)}; allowed: {allowed}"


# Lists of requests


def read_requests(path: str | os.PathLike[str], card: RateCard) -> list[Enquiry]:
    """The requests in a list, CSV or .xlsx, one in each row below headings from COLUMNS.

    A text may hold a number with a decimal point, a date as 2027-06-19, yes or no; a discount is in
    percent. Any other text stays text, even if a spreadsheet would take it for a formula. Raises
    InvalidInput with a line for every entry of every row that cannot be used, and Unreadable for
    any other kind of file.
    """
    headings, *rows = read_list(path) or [[]]
    complaints = list(_heading_complaints(headings))
    enquiries: list[Enquiry] = []
    if not complaints:
        names = [str(heading.value) for heading in headings]
        for row in rows:
            enquiry, wrong = _enquiry(dict(zip(names, row, strict=True)), card)
            enquiries.extend([enquiry] if enquiry else [])
            complaints.extend(wrong)
    if not rows:
        complaints.append(f"{Path(path).name}: found no request; allowed: one in each row below the headings")
    if complaints:
        raise InvalidInput(f"{path}: no quote was issued from this list. Correct these entries first:", complaints)
    return enquiries


def _heading_complaints(headings: list[Cell]) -> Iterator[str]:
    names = [heading.value for heading in headings]
    for heading in headings:
        if heading.value not in COLUMNS:
            yield f"{heading.where}: {_found(heading.value, 'a heading, one of ' + ', '.join(COLUMNS))}"
        elif names.count(heading.value) > 1:
            yield f"{heading.where}: {_found(heading.value, 'each heading once')}"


def _enquiry(row: dict[str, Cell], card: RateCard) -> tuple[Enquiry | None, list[str]]:
    """The enquiry in one row, or None and what is wrong with the row."""
    entries, wrong = _entries({name: cell.value for name, cell in row.items()}, card)
    unread = [column for column, _ in wrong]
    for name, complaint in _complaints(card, entries):
        if _column(name) not in unread:
            wrong.append((_column(name), complaint))
    if not wrong:
        email = row["email"].value if "email" in row else None
        return Enquiry(_request(entries), "" if email is None else str(email)), []
    anywhere = next(iter(row.values()))
    return None, [
        f"{row.get(column, anywhere).where}, {column}: {complaint}{HOW_WRITTEN.get(column, '')}"
        for column, complaint in sorted(wrong, key=lambda problem: COLUMNS.index(problem[0]))
    ]


def _entries(values: dict[str, object], card: RateCard) -> tuple[dict[str, object], list[tuple[str, str]]]:
    """A row's entries by the names of inputs, and each column that could not be read, with what is wrong there."""
    surface = str(_typed("surface", values.get("surface")))
    entries: dict[str, object] = {}
    wrong: list[tuple[str, str]] = []
    for column, value in values.items():
        if isinstance(value, Unusable):
            wrong.append((column, _found(value, "a value")))
        elif value is None:
            continue
        elif column.startswith("floor_"):
            line = int(column.removeprefix("floor_"))
            try:
                entries |= floor_entries(line, parse_floor(str(value), card, surface))
            except Misuse as error:
                entries[f"panel_{line}"] = str(value)
                wrong.append((column, str(error)))
        elif column == "email":
            if not EMAIL.fullmatch(str(value)):
                wrong.append((column, _found(value, "one mail address")))
        else:
            entries["discount_share" if column == "discount" else column] = _typed(column, value)
    return entries, wrong


def _column(name: str) -> str:
    """The column of the list that has an input, by the input's name."""
    if match := re.fullmatch(r"(?:panel|width|length|edging_wanted)_(\d)", name):
        return f"floor_{match[1]}"
    return "discount" if name == "discount_share" else name


def _typed(column: str, value: object) -> object:
    """The entry that a cell's value stands for; the value itself if it stands for none."""
    if column == "discount":
        return _share(value)
    if not isinstance(value, str):
        return value
    if column in NUMBERS and NUMBER.fullmatch(value):
        return number(value)
    if column == "event_date" and DATE.fullmatch(value):
        return _date(value)
    if column in ("after_hours", "waiver_taken", "raised"):
        return YES_NO.get(value.lower(), value)
    if column == "surface":
        return next((surface for surface in SURFACES if same_text(surface, value)), value)
    return value


def _share(value: object) -> object:
    """A discount in percent as a share of one; a cell formatted as a percentage already holds the share."""
    if isinstance(value, Percentage):
        return Decimal(value)
    if isinstance(value, str) and NUMBER.fullmatch(percent := value.removesuffix("%").strip()):
        value = number(percent)
    return value / 100 if isinstance(value, Decimal) else value


def _date(text: str) -> date | str:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return text
