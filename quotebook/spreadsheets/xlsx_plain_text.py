"""Texts as they are written in XML, read without a parser: only those that any parser reads to the same (XML 1.0)."""

import re

LONGEST = 2_000_000
"""Bytes of one block of a part that are read without a parser: what is longer than any quote's is no haste."""
NO_TEXT = bytes(code for code in range(0x20) if code not in b"\t\n")
NO_SIGNS = (b"\xef\xbf\xbe", b"\xef\xbf\xbf", b"]]>")
"""What no text in XML may hold (2.2 and 2.4), and a carriage return, which a parser replaces."""
ENTITIES = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}
ENTITY = re.compile(r"&(?:(amp|lt|gt|quot|apos)|#([0-9]{1,6}));")


def has_only_texts(data: bytes) -> bool:
    """Whether a piece of a part in UTF-8 has no sign that no text may hold, and none that a parser replaces."""
    if (b"\xef" in data or b"]" in data) and any(sign in data for sign in NO_SIGNS):
        return False
    return len(data.translate(None, NO_TEXT)) == len(data)


def plain_text(written: str) -> str:
    """A text with its entities replaced. Raises ValueError for any that is not one of the five, or a plain number."""
    if "&" not in written:
        return written
    if written.count("&") != len(ENTITY.findall(written)):
        raise ValueError("an entity that is not plain")
    return ENTITY.sub(lambda match: ENTITIES[match[1]] if match[1] else _sign(int(match[2])), written)


def plain_value(written: str) -> str:
    """A text with its entities replaced. Raises ValueError where it is no plain one, or may have an escape."""
    text = plain_text(written)
    if "_x" in text:
        raise ValueError("what may be an escape")
    return text


def _sign(number: int) -> str:
    """The sign of a number in Unicode that a text may hold (2.2). Raises ValueError for any other."""
    if not (0x20 <= number < 0xD800 or 0xE000 <= number < 0xFFFE or number in (9, 10)):
        raise ValueError("no sign of a plain text")
    return chr(number)
