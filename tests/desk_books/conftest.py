"""A copy of a module's desk for each test; and the shipped card, which is read once for all of these tests, as they
catch up a hundred times. One that was edited is read.
"""

import shutil
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


@pytest.fixture
def desk(made, tmp_path):
    """What the module's fixture `made` left, for one test to go on from."""
    shutil.copytree(made.folder, tmp_path / "desk")
    return type(made)(tmp_path / "desk")
