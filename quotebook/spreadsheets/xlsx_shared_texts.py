"""Reads the texts that the cells of an .xlsx share (ECMA-376 part 1, 18.4.9).

Texts that are written as most programs write them are read by one pattern, the others element by element; the pattern
takes only what comes to the same, and `tests/spreadsheets/test_shared_texts.py` holds both ways together.
"""

import re
from typing import TYPE_CHECKING, NamedTuple

from quotebook.errors import Unreadable
from quotebook.spreadsheets.grammar import Unknowns
from quotebook.spreadsheets.package import LIMITS
from quotebook.spreadsheets.xlsx_book_tables import STRINGS
from quotebook.spreadsheets.xlsx_parts import Parts
from quotebook.spreadsheets.xlsx_plain_text import LONGEST, has_only_texts, plain_value

if TYPE_CHECKING:
    from lxml.etree import _Element

FIRST, LAST, EMPTY = b"<si>", b"</si>", b"<si/>"
ITEM = r'<si><t(?: xml:space="preserve")?>([^<]*+)</t></si>'
ITEMS = re.compile(f"(?:{ITEM.replace('([^<]*+)', '[^<]*+')})*+")
TEXT = re.compile(ITEM)


class SharedTexts(NamedTuple):
    """The texts that cells share, by the numbers that cells give."""

    texts: dict[str, str]
    runs: "dict[str, _Element]"
    """The elements of those that are written in several runs."""


def shared_texts(parts: Parts) -> SharedTexts:
    """The texts in the part that the workbook leads to; none where it leads to none. Raises Unreadable."""
    member = parts.links.only(parts.book, "sharedStrings")
    if member is None:
        return SharedTexts({}, {})
    data = parts.package.utf8(member)
    plain = _plain(parts, member, data)
    return _carefully(parts, member, data) if plain is None else SharedTexts(plain, {})


def _carefully(parts: Parts, member: str, data: bytes) -> SharedTexts:
    """The texts, element by element."""
    root, plain = parts.held(member, data, "sst", STRINGS), f"{parts.main}t"
    items = {str(number): item for number, item in enumerate(root.iterchildren(f"{parts.main}si"))}
    texts = {number: parts.text(item, member) for number, item in items.items()}
    return SharedTexts(texts, {number: item for number, item in items.items() if len(item) and item[0].tag != plain})


def _plain(parts: Parts, member: str, data: bytes) -> dict[str, str] | None:
    """The texts of a part whose items are all plain, with nothing to be noted around them; None for any other."""
    start, end = data.find(FIRST), data.rfind(LAST) + len(LAST)
    inside = data[start:end]
    if start < 0 or len(inside) > LONGEST or not has_only_texts(inside):
        return None
    written, unknowns = inside.decode(), Unknowns()
    if "_x" in written or not ITEMS.fullmatch(written):
        return None
    try:
        root = parts.held(member, data[:start] + EMPTY + data[end:], "sst", STRINGS, unknowns=unknowns)
        texts = [plain_value(text) if "&" in text else text for text in TEXT.findall(written)]
    except (Unreadable, ValueError):  # the careful way says what is wrong
        return None
    is_whole = len(root) == 1 and root[0].tag == f"{parts.main}si" and not unknowns.times
    if not is_whole or max(map(len, texts)) > LIMITS["characters in one text"]:
        return None
    return dict(zip(map(str, range(len(texts))), texts, strict=True))
