"""Cells that a spreadsheet would run (OWASP, "CSV Injection"), and cells that it would not."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotebook.spreadsheets.csv_text import FORMULA_STARTS, safe_text


@pytest.mark.parametrize(
    "text",
    [
        '=HYPERLINK("http://x.example")',
        "+1",
        "-1",
        "@SUM(1)",
        "\t=1",
        "\r=1",
        "\n=1",
        "\uff1d1",
        "\uff0b1",
        "\uff0d1",
        "\uff201",
        "  =1+1",
    ],
)
def test_kept_as_text(text):
    assert safe_text(text) == "'" + text


@pytest.mark.parametrize("text", ["", "4x4", "Oak & ash", "'quoted'", "1-2", "a=b", "¡Olé!"])
def test_left_alone(text):
    assert safe_text(text) == text


@given(st.text())
def test_no_cell_starts_with_what_would_run(text):
    written = io.StringIO(newline="")
    csv.writer(written).writerow([safe_text(text)])
    (cell,) = next(csv.reader(io.StringIO(written.getvalue(), newline="")), [""])
    assert not cell.startswith(FORMULA_STARTS) and not cell.lstrip().startswith(FORMULA_STARTS) and cell.endswith(text)
