"""Workbooks of buying for tests: written with poisoned values, changed by hand, recalculated, and printed."""

import subprocess
from io import BytesIO

import openpyxl
import pytest
from oracle import poisoned, recalculated_by_ironcalc, values_in

WRONG = ("###", "#NAME", "#VALUE", "#REF", "#DIV", "Err:")
"""What a program shows in a cell that it cannot show, or cannot work out."""


def written(write, path, answer):
    """The content of a workbook that `write` makes of an answer; in the file every cached value is wrong."""
    file = BytesIO()
    content = write(file, answer)
    path.write_bytes(poisoned(file.getvalue()))
    return content


def results(write, answer):
    """What every figure of the workbook should come to, by the engine."""
    return write(BytesIO(), answer).results


def type_over(path, content, entries):
    """Enter other values, by name, as an owner would."""
    book = openpyxl.load_workbook(path)
    for name, value in entries.items():
        sheet, row, column = content.places[name]
        book[sheet].cell(row, column).value = value
    book.save(path)


def must_come_to(path, content, expected):
    """IronCalc works the workbook out, and every figure is as expected."""
    must_equal(recalculated_by_ironcalc(path, figures_of(content)), expected)


def must_be_recalculated_by_libreoffice(soffice, folder, write, answers):
    """LibreOffice works all of them out, in one batch."""
    contents = {case: written(write, folder / f"{case}.xlsx", answer) for case, answer in answers.items()}
    (folder / "out").mkdir()
    saved = soffice.convert([folder / f"{case}.xlsx" for case in contents], folder / "out")
    for path, content in zip(saved, contents.values(), strict=True):
        must_equal(values_in(path, figures_of(content)), content.results)


def must_equal(found, expected):
    """To a millionth of what it is, or of one."""
    differing = {}
    for name, value in expected.items():
        is_text = isinstance(value, str)
        same = (
            (found[name] or "") == value if is_text else found[name] == pytest.approx(float(value), rel=1e-6, abs=1e-6)
        )
        if not same:
            differing[name] = found[name], value
    assert not differing


def figures_of(content):
    """The place of every figure, by name."""
    return {name: content.places[name] for name in content.results}


def printed(soffice, folder, write, answer):
    """The first line of every page that the workbook is printed on; nothing on them is wrong or cut off."""
    with (folder / "book.xlsx").open("wb") as file:
        write(file, answer)
    (pdf,) = soffice.convert([folder / "book.xlsx"], folder, to="pdf")
    text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout
    assert not any(wrong in text for wrong in WRONG)
    return [" ".join(page.strip().splitlines()[0].split()) for page in text.split("\f") if page.strip()]
