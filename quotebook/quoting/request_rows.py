"""Reads one row of a list of requests as an enquiry, and says of each entry that cannot be used what is allowed."""

import os
import re
from collections.abc import Callable, Sequence
from datetime import date, time
from decimal import Decimal
from pathlib import Path
from typing import Any

from quotebook.contract.values import request_of
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.engine.model import LINES, SURFACES, FloorLine, RateCard, same_text
from quotebook.engine.money import number
from quotebook.errors import InvalidInput, Misuse
from quotebook.quoting.mixing import floor_lines
from quotebook.quoting.percentages import NUMBER, share_in_sheet
from quotebook.quoting.request_headings import COLUMNS, headings_in
from quotebook.quoting.request_list import RequestList, RequestRow, as_text, heading_of, read_request_list
from quotebook.quoting.requests import (
    EMAIL,
    Enquiry,
    floor_entries,
    found_and_allowed,
    request_complaints,
    split_option,
    with_first_option,
)
from quotebook.spreadsheets.filled_in import Unusable

DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
TIME = re.compile(r"(?:\d{4}-\d\d-\d\d )?([01]?\d|2[0-3]):([0-5]\d)(?::\d\d)?", re.ASCII)
"""A time of day; a cell that shows one may hold a day before it."""
DECIMAL_POINT = ", with a decimal point"
HOW_WRITTEN = {
    "event_date": ", written 2027-06-19", "miles": DECIMAL_POINT, "room_width": DECIMAL_POINT,
    "room_length": DECIMAL_POINT,
}  # fmt: skip

ENTRIES = (
    "client", "event", "event_date", "days", "venue", "surface", "miles", "flights", "guests", "after_hours",
    "waiver_taken", "raised", "room_width", "room_length",
)  # fmt: skip
"""The columns that are entries of the request as they stand."""
NUMBERS = ("days", "miles", "flights", "guests", "room_width", "room_length")
TIMES = ("event_start", "access_from", "access_until")
YES_OR_NO = ("after_hours", "waiver_taken", "raised")
PLACES = 6
"""The decimal places that the side of a floor may have."""


def time_of_day(text: str) -> time | None:
    """The time in an entry of a list; None if it is none."""
    match = TIME.fullmatch(text)
    return time(int(match[1]), int(match[2])) if match else None


def read_requests(path: str | os.PathLike[str], card: RateCard) -> list[Enquiry]:
    """The requests in a list, one in each row below the headings.

    Raises InvalidInput with a line for every entry of every row that cannot be used, and Unreadable for a file of any
    other kind.
    """
    enquiries, complaints = [], []
    found = read_request_list(path)
    found.must_be_in(
        card.firm.length_unit, card.firm.language,
        "Convert the sizes and distances below it, then correct the headings.",
    )  # fmt: skip
    for row in found.rows:
        try:
            enquiries.append(enquiry_in(row, found, card))
        except InvalidInput as error:
            complaints += error.complaints
    if not found.rows:
        complaints.append(f"{Path(path).name}: found no request; allowed: one in each row below the headings")
    if complaints:
        raise InvalidInput(heading_of(path), complaints)
    return enquiries


def enquiry_in(row: RequestRow, of: RequestList, card: RateCard) -> Enquiry:
    """The enquiry in one row. Raises InvalidInput with a line for each entry that cannot be used."""
    reader = _RowReader(row, card)
    entries = reader.entries()
    wrong = reader.wrong
    for name, complaint in request_complaints(card, entries):
        column = reader.column_of(name)
        if column not in {*wrong, *reader.told_elsewhere}:
            wrong[column] = reader.in_own_words(name, entries.get(name)) or complaint
    if not wrong:
        return Enquiry(request_of(entries, entries), **reader.notes)
    anywhere = next(iter(row.cells.values()))
    said = headings_in(card.firm.language)
    raise InvalidInput(
        "This row cannot be priced:",
        [
            f"{row.cells.get(name, anywhere).where}, {of.headings[name].value if name in of.headings else said[name]}: "
            f"{complaint}{HOW_WRITTEN.get(name, '')}"
            for name, complaint in sorted(wrong.items(), key=lambda each: COLUMNS.index(each[0]))
        ],
    )


class _RowReader:
    """Reads one row, and notes what is wrong in which of its columns."""

    def __init__(self, row: RequestRow, card: RateCard) -> None:
        self.row, self.card = row, card
        self.wrong: dict[str, str] = {}
        self.notes: dict[str, Any] = {}
        """The fields of an Enquiry beside its request."""
        self.floor_columns: dict[int, int] = {}
        """For each floor line of the quote the number of the list's floor that it comes from."""
        self.told_elsewhere: set[str] = set()
        """The columns of floors that could not be read for their sizes, which have columns of their own."""

    def entries(self) -> dict[str, object]:
        """The entries of the request by the names of inputs, as `requests.valid_request` takes them."""
        entries: dict[str, object] = {"days": Decimal(1)}
        for name in ENTRIES:
            if (value := self._usable(name)) is not None:
                entries[name] = self._typed(name, value)
        if (discount := self._usable("discount")) is not None:
            self._try("discount", lambda: entries.update(discount_share=share_in_sheet(discount)))
        self._read_notes()
        return with_first_option(entries | self._floors(str(entries.get("surface", ""))))

    def column_of(self, name: str) -> str:
        """The column of the list that an input of the request comes from."""
        stem, _, line = name.rpartition("_")
        if stem not in ("panel", "width", "length", "edging_wanted", "option"):
            return "discount" if name == "discount_share" else name
        column = self.floor_columns.get(int(line), int(line))
        part = f"{stem}_{column}"
        return part if part in self.row.cells and self.row.value(part) is not None else f"floor_{column}"

    def in_own_words(self, name: str, found: object) -> str:
        """What is said of an entry that is chosen among words, in the words that the book offers; empty for others."""
        words = words_in(self.card.firm.language)["words"]
        if name == "surface":
            return found_and_allowed(found, "one of " + "; ".join(words["surfaces"]))
        return found_and_allowed(found, f"{words['yes']} or {words['no']}") if name in YES_OR_NO else ""

    def _usable(self, name: str) -> object:
        """What is in a column; None where that is nothing, or nothing that can be used."""
        value = self.row.value(name)
        if isinstance(value, Unusable) and name not in TIMES:
            self.wrong[name] = found_and_allowed(value, "a value")
            return None
        return value

    def _typed(self, name: str, value: object) -> object:
        """The entry that a value stands for; the value itself if it stands for none."""
        if not isinstance(value, str):
            return value
        if name in NUMBERS and NUMBER.fullmatch(value):
            return number(value)
        if name == "event_date" and DATE.fullmatch(value):
            return _date(value)
        if name in YES_OR_NO:
            return _yes_no(value)
        return _surface(value) if name == "surface" else value

    def _floors(self, surface: str) -> dict[str, object]:
        """The entries of every floor line: a floor of several kinds of panel takes several."""
        entries: dict[str, object] = {}
        line = 1
        for column in range(1, LINES + 1):
            lines = self._floor(column, surface)
            line = max(line, column)
            for floor in lines:
                if line > LINES:
                    self.wrong[f"floor_{column}"] = (
                        f"a quote holds up to {LINES} floors, and this one is laid in several"
                    )
                    break
                self.floor_columns[line] = column
                entries |= floor_entries(line, floor)
                line += 1
        return entries

    def _floor(self, column: int, surface: str) -> Sequence[FloorLine]:
        """The lines of one floor of the list; none where it is blank or cannot be read."""
        name, sides = f"floor_{column}", (f"width_{column}", f"length_{column}")
        panels, edging = self._usable(name), self._usable(f"edging_wanted_{column}")
        sizes = [self._side(side) for side in sides]
        if panels is None and sizes == [None, None]:
            return ()
        text = str(panels or "")
        if sizes != [None, None] and ":" in text:
            self.wrong[sides[0]] = f"the floor {text} has its size already"
        elif sizes != [None, None] or (sides[0] in self.row.cells and self._is_of_card(text)):
            usable = [self._is_size(*each) for each in zip(sides, sizes, strict=True)]
            if not all(usable):
                self.told_elsewhere.add(name)
                return ()
            text += ":" + "x".join(map(as_text, sizes))
        if edging is not None:
            fitted = _yes_no(edging)
            if isinstance(fitted, bool):
                text += ":edging" if fitted else ":bare"
            else:
                self.wrong[f"edging_wanted_{column}"] = self.in_own_words(YES_OR_NO[0], edging)
        floors: list[FloorLine] = []
        self._try(name, lambda: floors.extend(floor_lines(text, self.card, surface)))
        return floors

    def _side(self, name: str) -> object:
        value = self._usable(name)
        return number(value) if isinstance(value, str) and NUMBER.fullmatch(value) else value

    def _is_of_card(self, text: str) -> bool:
        """Whether a floor without its size is of kinds on the card, whatever option it belongs to."""
        return all(self.card.rates.kind(code.strip()) for code in split_option(text)[1].split("+"))

    def _is_size(self, name: str, side: object) -> bool:
        """Whether a side of a floor can be used; what is wrong with it is noted."""
        longest = self.card.rates.longest_side
        allowed = f"a number above 0, at most {longest}{DECIMAL_POINT}"
        if isinstance(side, Decimal) and 0 < side <= longest:
            if side == round(side, PLACES):
                return True
            allowed += f" and at most {PLACES} digits behind it"
        self.wrong.setdefault(name, found_and_allowed(side, allowed))
        return False

    def _read_notes(self) -> None:
        """Reads what stands beside the request."""
        for name in ("email", "phone", "tax_exempt", "language"):
            if (value := self._usable(name)) is not None:
                self.notes[name] = as_text(value)
        for name in TIMES:
            if (value := self._usable(name)) is not None:
                self.notes[name] = time_of_day(str(value))
                if not self.notes[name]:
                    self.wrong[name] = found_and_allowed(value, "a time of day, such as 16:30")
        self._check_notes()

    def _check_notes(self) -> None:
        if "email" in self.notes and not EMAIL.fullmatch(self.notes["email"]):
            self.wrong["email"] = found_and_allowed(self.notes["email"], "one mail address")
        exempt = _yes_no(self.notes.get("tax_exempt", ""))
        if exempt is False:
            del self.notes["tax_exempt"]
        elif exempt is True:
            self.wrong["tax_exempt"] = found_and_allowed("yes", "the reason, such as a certificate and its number")
        if said := self.notes.get("language", ""):
            self.notes["language"] = next((each for each in LANGUAGES if same_text(each, said)), "")
            if not self.notes["language"]:
                self.wrong["language"] = found_and_allowed(said, "one of " + ", ".join(LANGUAGES))

    def _try(self, name: str, read: Callable[[], None]) -> None:
        """Reads a column, and notes the sentence about it if that cannot be done."""
        try:
            read()
        except Misuse as error:
            self.wrong[name] = str(error)


def _yes_no(value: object) -> object:
    """True or False for the words of any language; the value itself if it is neither."""
    for language in LANGUAGES:
        words = words_in(language)["words"]
        for word, meaning in ((words["yes"], True), (words["no"], False)):
            if isinstance(value, str) and same_text(word, value):
                return meaning
    return value


def _surface(text: str) -> str:
    """The ground that a word of any language means; the word itself if it means none."""
    for language in LANGUAGES:
        for surface, word in zip(SURFACES, words_in(language)["words"]["surfaces"], strict=True):
            if same_text(word, text) or same_text(surface, text):
                return surface
    return text


def _date(text: str) -> date | str:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return text
