"""The shipped card is read once for all of these tests, which catch up a hundred times; one that was edited is not."""

from pathlib import Path

import pytest

from quotebook.rate_card import reader

READ = reader.read_rate_card


@pytest.fixture(autouse=True, scope="session")
def _card_read_once():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reader, "read_rate_card", lambda path: _read(Path(path)))
        yield


_SEEN = {}


def _read(path: Path):
    """The card at a path; the same bytes are not read again, wherever they lie."""
    content = path.read_bytes()
    if content not in _SEEN:
        _SEEN[content] = READ(path)
    return _SEEN[content]
