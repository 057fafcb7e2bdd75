"""What the documents quote is what the code says today."""

import docs
import pytest


@pytest.mark.parametrize("document", docs.DOCUMENTS, ids=lambda path: path.name)
def test_produced_parts_have_not_drifted(document, tmp_path):
    text = document.read_text()
    assert docs.renewed(text, tmp_path) == text, "run python tests/docs.py"
