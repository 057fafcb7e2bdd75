"""Every named figure of quotes, issued and edited, as this evaluator and three spreadsheet programs work it out.

Numbers are equal to six places, or to twelve digits where they are large; texts are equal, and where one says that
there is an error, so does the other: which one is not compared, since programs name them differently.
"""

import re
from collections import Counter
from contextlib import contextmanager
from decimal import Decimal
from itertools import islice

import edited_quotes
import oracle
import pytest
import random_quotes
from extent import extent
from hypothesis import HealthCheck, Phase, given, settings

from quotebook.evaluation import functions, programs
from quotebook.evaluation.applying import A_WHOLE_LINE
from quotebook.evaluation.arguments import truths_in
from quotebook.evaluation.evaluation import Evaluation
from quotebook.evaluation.values import IN_A_CIRCLE, Array, NotWorkedOut
from quotebook.spreadsheets.cells import CellAddress, Fault
from quotebook.spreadsheets.reading import read_workbook

QUOTES, EDITS_OF_EACH = extent(2, 5), extent(6, 12)
LIBREOFFICE_FILES, GNUMERIC_FILES = extent(8, 32), extent(8, 32)
BATCH = 50
"""Files that one process works out; LibreOffice ends without a word somewhere beyond 200."""

TO_BE_EXPECTED = (IN_A_CIRCLE, A_WHOLE_LINE)
"""What edits lead to that is not worked out: INDEX with a row below 1, and formulas that rest on themselves."""


def figures(workbook, content):
    """Each named figure of a workbook as it is worked out here, and where it stands in it."""
    evaluation = Evaluation(workbook)
    titles = {sheet.name for sheet in workbook.sheets}
    found, places = {}, {}
    for name in content.formulas:
        area = workbook.resolve(name)
        if area and area.sheet in titles and name in content.places:
            places[name] = [area.sheet, area.top, area.left]
            found[name] = evaluation.cell(CellAddress(*places[name]))
    return found, places


def differences(ours, theirs):
    return {name: (value, theirs[name]) for name, value in ours.items() if not agrees(value, theirs[name])}


def agrees(ours, theirs):
    """Whether two answers are one. What is not worked out here, and a circle, can be anything."""
    if isinstance(ours, NotWorkedOut):
        return True
    if isinstance(ours, Fault):
        return isinstance(theirs, str) and theirs.startswith("#")
    if isinstance(ours, bool):  # LibreOffice saves TRUE as the number 1
        return isinstance(theirs, (bool, int)) and ours == theirs
    if isinstance(ours, str) or ours is None:
        return (theirs or "") == (ours or "")
    if isinstance(theirs, bool) or not isinstance(theirs, (int, float)):
        return False
    return abs(float(ours) - theirs) <= max(5e-7, abs(theirs) * 1e-12)


def quotes(folder, count):
    """Issued quotes that nobody chose: path, content."""
    written = []

    @given(random_quotes.rates, random_quotes.requests)
    @settings(
        max_examples=count, deadline=None, database=None, derandomize=True, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    def write(rates, request):
        path = folder / f"issued{len(written)}.xlsx"
        written.append((path, edited_quotes.issued(path, rates, request)))

    worked = folder / "worked.xlsx"
    written.append((worked, edited_quotes.issued(worked)))
    write()
    return written


def cases(folder, quotes_count, edits_of_each):
    """Issued and edited quotes: path, content, what was edited."""
    for number, (path, content) in enumerate(quotes(folder, quotes_count)):
        yield path, content, []
        editor = edited_quotes.Editor(path, content)
        for each in range(edits_of_each):
            target = folder / f"{path.stem}-{each}.xlsx"
            yield target, content, editor.edited(target, seed=1000 * number + each, count=1 + each % 4)


@pytest.fixture(autouse=True)
def a_single_text_multiplied_is_0(monkeypatch):
    """What the three programs have in common and Excel has not (test_programs_differ.py): in a SUMPRODUCT of single
    cells, a text counts as 0."""

    def sumproduct(*arrays):
        return functions._sumproduct(
            *(
                Array(1, 1, [0.0]) if len(array.cells) == 1 and isinstance(array.cells[0], str) else array
                for array in arrays
            )
        )

    programs._remembered.cache_clear()
    alike = functions.FUNCTIONS["SUMPRODUCT"]._replace(work_out=sumproduct)
    monkeypatch.setitem(functions.FUNCTIONS, "SUMPRODUCT", alike)
    yield
    programs._remembered.cache_clear()


@contextmanager
def as_in_ironcalc():
    """The evaluator with the habit of IronCalc that no other program has: AND and OR stop at the first argument that
    decides, whatever errors come behind it. Its other habit, that a name of one cell is a value by itself (a text
    there is #VALUE! in a SUM), is met by giving it addresses for names, with which it is several times as fast."""

    def decided_by(deciding):
        def function(*arguments):
            for argument in arguments:
                truths = truths_in([argument])
                if isinstance(truths, Fault) or deciding in truths:
                    return truths if isinstance(truths, Fault) else deciding
            return not deciding

        return function

    changed = {name: functions.FUNCTIONS[name]._replace(work_out=decided_by(name == "OR")) for name in ("AND", "OR")}
    with pytest.MonkeyPatch.context() as patch:
        programs._remembered.cache_clear()
        for name, function in changed.items():
            patch.setitem(functions.FUNCTIONS, name, function)
        yield
    programs._remembered.cache_clear()


TOO_LARGE = 10**15
"""From here on a number with two decimals has more digits than spreadsheets keep: what is left where such amounts
cancel, as in a balance or a piece that is cut, is each program's own (test_programs_differ.py)."""


def is_as_explained(ours, theirs, figures):
    """Whether a difference to IronCalc is one of those in test_programs_differ.py: in texts it writes more than 15
    digits, and no number above 2^64 - 1; of numbers that cancel it leaves more than 0."""
    if isinstance(ours, str) and isinstance(theirs, str):
        return re.search("0{8}|9{8}", theirs) is not None or str(2**64 - 1) in theirs.replace(",", "")
    return isinstance(ours, Decimal) and any(
        abs(value) >= TOO_LARGE for value in figures.values() if isinstance(value, Decimal)
    )


def check_with_ironcalc(folder, quotes_count, edits_of_each):
    found, not_worked_out, figures_held = [], Counter(), 0
    for path, content, edited in cases(folder, quotes_count, edits_of_each):
        ours, places = figures(read_workbook(path), content)
        with_addresses = oracle.with_addresses(path)
        theirs = oracle.recalculated_by_ironcalc(with_addresses, places)
        with_addresses.unlink()
        figures_held += len(ours)
        not_worked_out.update(
            value.text for value in ours.values() if isinstance(value, NotWorkedOut) and value not in TO_BE_EXPECTED
        )
        different = {name: both for name, both in differences(ours, theirs).items() if not is_as_explained(*both, ours)}
        if different:
            found.append((edited, different))
        if edited:
            path.unlink()
    assert found == [], "\n".join(map(str, found))
    assert not not_worked_out
    return figures_held


def test_ironcalc_agrees_on_every_figure_of_edited_quotes(tmp_path):
    with as_in_ironcalc():
        assert check_with_ironcalc(tmp_path, QUOTES, EDITS_OF_EACH) > extent(6_000, 25_000)


@pytest.mark.slow
def test_ironcalc_agrees_on_every_figure_of_ten_thousand_edited_quotes(tmp_path):
    with as_in_ironcalc():
        check_with_ironcalc(tmp_path, 500, 20)


def check_with(convert, folder, count, read=read_workbook):
    every = [*islice(cases(folder, count // 4, 3), count)]
    paths = [path for path, _, _ in every]
    batches = [paths[start : start + BATCH] for start in range(0, len(paths), BATCH)]
    converted = [done for batch in batches for done in convert(batch, folder / "recalculated")]
    found = []
    for (path, content, edited), answer in zip(every, converted, strict=True):
        ours, places = figures(read(path), content)
        if different := differences(ours, oracle.values_in(answer, places)):
            found.append((edited, different))
    assert found == []


def without_empty_texts(path):
    """A workbook as LibreOffice loads it, to whom an empty cell of text is a blank (test_programs_differ.py)."""
    workbook = read_workbook(path)
    for sheet in workbook.sheets:
        for place in [place for place, cell in sheet.cells.items() if cell == ("", None)]:
            del sheet.cells[place]
    return workbook


def test_libreoffice_agrees_on_every_figure_of_edited_quotes(tmp_path, soffice):
    check_with(soffice.convert, tmp_path, LIBREOFFICE_FILES, without_empty_texts)


def test_gnumeric_agrees_on_every_figure_of_edited_quotes(tmp_path, gnumeric):
    check_with(gnumeric.convert, tmp_path, GNUMERIC_FILES)


@pytest.mark.slow
def test_libreoffice_and_gnumeric_agree_on_hundreds_of_edited_quotes(tmp_path, soffice, gnumeric):
    for program, read in ((soffice, without_empty_texts), (gnumeric, read_workbook)):
        folder = tmp_path / program.__name__
        folder.mkdir()
        check_with(program.convert, folder, 200, read)


def test_a_wrong_answer_is_noticed():
    assert not agrees(Decimal("1.000001"), 1.0)
    assert not agrees(Fault("#VALUE!"), 0)
    assert not agrees("Yes", "No")
    assert not agrees(Decimal(1), True)
    assert not agrees(True, 0)
