"""What the documents quote is what the code says today."""

import pytest

import docs


@pytest.mark.parametrize("document", docs.DOCUMENTS, ids=lambda path: path.name)
def test_produced_parts_have_not_drifted(document, tmp_path):
    text = document.read_text()
    assert docs.renewed(text, tmp_path) == text, "run python tests/docs.py"


def test_every_module_is_on_the_map():
    text = (docs.ROOT / "DEVELOPERS.md").read_text()
    modules = sorted((docs.ROOT / "quotebook").glob("*.py")) + sorted((docs.ROOT / "quotebook").glob("*/"))
    missing = [path.name for path in modules if not path.name.startswith("__") and f"`{path.name}" not in text]
    assert missing == []
