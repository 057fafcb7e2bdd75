"""Slips: the small signed files that a desk keeps of everything it recorded, one for each event, as a chain.

The first line of a slip is the event as JSON, with its place: the desk, its number among the desk's
events from 1 on, the digest of the line before it, and its place in time among the events of all
desks. The second line signs the first under the desk's key. The ledger has the same lines, so that a
slip can be written again from the ledger, and a ledger be put back from slips and workbooks.
"""

import hashlib
import hmac
import json
import re
from typing import NamedTuple

from quotebook.errors import Unreadable
from quotebook.ledger.events import Details

_BEFORE_CHAINS = re.compile(r"\.(\d{8}T\d{6}\.\d{6}Z)\.[a-z-]+\.json$")
"""How the names of slips end that were written before slips were numbered: the moment and the event."""


class Place(NamedTuple):
    """The place of an event among all."""

    desk: str
    """The desk that recorded it; empty for what was recorded before desks had names."""
    sequence: int
    """Its number among the events of that desk, from 1 on."""
    clock: int
    """One more than that of any event which the desk knew of then; it orders events without any clock's time."""
    previous: str
    """The digest of the line before it in the desk's chain; empty for the first."""


def line_of(place: Place, details: Details) -> str:
    """An event as the first line of its slip, and as the ledger keeps it."""
    return json.dumps(place._asdict() | details)


def place_of(details: Details) -> Place | None:
    """The place that the details of an event tell; None if it was recorded before slips were numbered."""
    return Place(*(details[name] for name in Place._fields)) if "sequence" in details else None


def digest_of_line(line: str) -> str:
    """The SHA-256 of a line, which the next line of its chain has."""
    return hashlib.sha256(line.encode()).hexdigest()


def slip_name(sequence: int) -> str:
    """The file name of the slip with this number."""
    return f"{sequence:06}.json"


def numbered(name: str) -> int | None:
    """The number of the slip with this file name; None if no numbered slip has such a name."""
    number = name.removesuffix(".json")
    return int(number) if number.isascii() and number.isdecimal() and slip_name(int(number)) == name else None


def named_by_moment(name: str) -> bool:
    """Whether a file name is that of a slip from before slips were numbered."""
    return bool(_BEFORE_CHAINS.search(name))


def write_slip(line: str, key: bytes) -> str:
    """The text of a slip: the line, and its signature under the desk's key."""
    return f"{line}\n{_signature(line.encode(), key)}\n"


def read_slip(content: bytes, key: bytes) -> str:
    """The first line of a slip. Raises Unreadable if its signature does not match under the desk's key."""
    line, _, signature = content.partition(b"\n")
    if not hmac.compare_digest(_signature(line, key).encode(), signature.strip()):
        raise Unreadable("the slip was changed after this desk signed it. Put back your copy of it.")
    return line.decode()


def _signature(line: bytes, key: bytes) -> str:
    return hmac.new(key, line, "sha256").hexdigest()
