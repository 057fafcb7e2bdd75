"""Keeps the row of a list that became a quote, in a file beside the quote: by it a row is known again.

A row is known by the number that the book has beside it. Where that is lost (the book was open, the machine stopped),
it is known by what it asks for: so a row that became a quote never becomes a second one.
"""

import json
from collections.abc import Mapping
from datetime import time

from quotebook.desk import Desk
from quotebook.files import atomically
from quotebook.quoting.request_rows import time_of_day

_SUFFIX = "-request.json"


def keep_request(desk: Desk, number: str, texts: Mapping[str, str]) -> None:
    """Keep what the row asked for that becomes quote `number`, or its next revision."""
    with atomically(desk.issued / f"{number}{_SUFFIX}", overwrite=True) as path:
        path.write_text(json.dumps(dict(texts), ensure_ascii=False, indent=1), "utf-8")


def kept_request(desk: Desk, number: str) -> dict[str, str] | None:
    """What the row asked for that became quote `number`; None if the quote did not come from a row of this desk.

    The file may be there all the same: it is written before the quote, and another desk may have used the number.
    """
    path = desk.issued / f"{number}{_SUFFIX}"
    if not path.exists() or not desk.latest_revision(number):
        return None
    texts: dict[str, str] = json.loads(path.read_text("utf-8"))
    return texts


def access_from(asked: Mapping[str, Mapping[str, str]]) -> dict[str, time]:
    """From when a crew can get in, by the quote's number, where what its row asked for says it."""
    times = {number: time_of_day(texts.get("access_from", "")) for number, texts in asked.items()}
    return {number: found for number, found in times.items() if found}


def kept_requests(desk: Desk) -> dict[str, dict[str, str]]:
    """What every row asked for that became a quote, by the quote's number. Others are left out."""
    numbers = sorted(path.name.removesuffix(_SUFFIX) for path in desk.issued.glob(f"Q*{_SUFFIX}"))
    kept = {number: kept_request(desk, number) for number in numbers}
    return {number: texts for number, texts in kept.items() if texts is not None}
