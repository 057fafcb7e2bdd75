"""The workbooks in a mail message, as a mail program saves it (.eml: RFC 5322, RFC 2045 to 2049, RFC 2183)."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from quotebook.errors import Unreadable

if TYPE_CHECKING:
    from email.message import EmailMessage

MAIL_BYTES = 30_000_000
"""A workbook of the largest size that is read, in base64, with room for the rest."""
LINES, PARTS, LONGEST_HEADER = 1_000_000, 1_000, 4_000
"""What a message may have before it is parsed: time and memory grow with each, with the last as its square."""

HEADER = re.compile(rb"^content-[a-z-]{1,40}:[^\n]*(?:\n[ \t][^\n]*)*", re.IGNORECASE | re.MULTILINE)

SUFFIXES = {
    ".xlsx", ".xlsm", ".ods", ".xls", ".xlsb", ".numbers", ".xltx", ".xltm", ".xlt", ".ots", ".fods", ".zip",
}  # fmt: skip
"""Attachments that are workbooks, or were meant to be, or may have one in them."""
TYPES = {
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet": ".xlsx",
    "application/vnd.ms-excel": ".xls",
    "application/vnd.oasis.opendocument.spreadsheet": ".ods",
}
"""What an attachment without such a name is, by what its sender calls it."""


def attached_workbooks(path: Path) -> list[tuple[str, bytes]]:
    """The name and the bytes of every workbook attached to a message, also to one that it forwards.

    Names are safe to print and to give to a file. Raises Unreadable: no message, too large, or
    without a workbook.
    """
    message = _message(path)
    try:
        attached = list(_attached(message))
        found = [(name, _payload(part)) for name, part in attached if _may_be_a_workbook(name, part)]
    except Exception:  # the parser raises whatever it stumbles over in a header that breaks its grammar
        raise Unreadable(f"{path}: is damaged as a message; save the workbook out of it and check that.") from None
    if not found:
        others = ", ".join(name for name, _ in attached) or "nothing"
        raise Unreadable(f"{path}: has no workbook attached (attached: {others}); ask for the workbook itself.")
    return found


def _message(path: Path) -> "EmailMessage":
    from email import message_from_bytes, policy

    try:
        with path.open("rb") as file:
            data = file.read(MAIL_BYTES + 1)
    except OSError as error:
        raise Unreadable(f"{path}: could not be read ({error.strerror}).") from None
    longest = max((len(header[0]) for header in HEADER.finditer(data)), default=0)
    if len(data) > MAIL_BYTES or data.count(b"\n") > LINES or data.count(b"\n--") > PARTS or longest > LONGEST_HEADER:
        raise Unreadable(
            f"{path}: is larger than a message with a quote can be; save the workbook out of it and check that."
        )
    try:
        return message_from_bytes(data, policy=policy.default)
    except Exception:
        raise Unreadable(f"{path}: is damaged as a message; save the workbook out of it and check that.") from None


def _attached(message: "EmailMessage") -> Iterator[tuple[str, "EmailMessage"]]:
    """Every part that has a name or is a workbook by its type."""
    for part in message.walk():
        name = _safe(part.get_filename() or "")
        kind = TYPES.get(part.get_content_type())
        if kind and _suffix(name) not in SUFFIXES:
            name = f"{name or 'attachment'}{kind}"
        if name:
            yield name, part


def _may_be_a_workbook(name: str, part: "EmailMessage") -> bool:
    """By the end of its name; without one, by what its sender calls it."""
    return _suffix(name) in SUFFIXES or (not _suffix(name) and part.get_content_maintype() == "application")


def _payload(part: "EmailMessage") -> bytes:
    """The decoded bytes of a part; none for a part that is made of parts."""
    payload = part.get_payload(decode=True)
    return payload if isinstance(payload, bytes) else b""


def _suffix(name: str) -> str:
    return Path(name).suffix.lower()


def _safe(name: str) -> str:
    """A file's name without a folder, and without characters that no file or terminal should be given."""
    last = name.replace("\\", "/").rpartition("/")[2]
    return "".join(sign if sign.isprintable() and sign not in '<>:"|?*' else "_" for sign in last).strip(". ")[-100:]
