"""Quotes as they might come back: issued from figures that nobody chose, and edited so that their formulas come to
something else. Cached values are poisoned, so that no program can hand back what was written."""

import random
import re
from decimal import Decimal as D
from io import BytesIO
from pathlib import Path

import edits
import oracle
import worked_example

from quotebook.client.workbook import Issue, write_quote
from quotebook.contract.stamp import Content
from quotebook.spreadsheets.cells import CellAddress, Fault
from quotebook.spreadsheets.formula_text import names_in

TYPED = (
    D(0), D(1), D(-3), D("0.5"), D("12.25"), D(400), D("1E+15"), D("46193"), D("46193.75"),
    "lots", "", "4x4", "no", "yes", "12 apples", "16 x 20", None, None, Fault("#N/A"), Fault("#DIV/0!"),
)  # fmt: skip
"""Numbers, dates as their serial numbers, texts that no program takes for a number, blanks and errors.

Left out, since programs differ on them (test_programs_differ.py): TRUE, which LibreOffice counts as 1 in a range (so
no formula below comes to a truth either), and texts that some programs take for numbers."""
SWAPPED = (
    ("ROUNDUP(", "ROUND("), ("MAX(", "MIN("), ("MIN(", "MAX("), ("SUM(", "MAX("), ("AND(", "OR("), ("OR(", "AND("),
    ("*", "+"), ("+", "-"), ("/", "*"), (">=", ">"), ("<=", "<>"),
)  # fmt: skip
WRAPPED = (
    "({})*{}", "({})-{}", "{}&({})", "IFERROR({},{})", "IF(({})>{},1,2)", "MOD(ROUND({},2),ROUND({},0)+1)",
    "INT(ROUND({},6))+{}", "-({})^2+{}", "({})*{}%",
    "IF(NOT(({})={}),1,2)", "ABS({})/{}", "YEAR(ABS(ROUND({},0))+61)*{}",
)  # fmt: skip


def issued(path: Path, rates=worked_example.RATES, request=worked_example.REQUEST) -> Content:
    """A client's workbook, its cached values poisoned; what its stamp signs."""
    file = BytesIO()
    papers = worked_example.PAPERS, worked_example.FIRM
    content = write_quote(file, Issue(*papers, rates, request, terms=("Pay in time.",)), b"a key for tests")
    path.write_bytes(oracle.poisoned(file.getvalue()))
    return content


class Editor:
    """Edits of one issued workbook, chosen by a seed."""

    def __init__(self, path: Path, content: Content):
        self.book, self.content = edits.Book(path), content
        entered = {*content.inputs, *content.owner} & content.places.keys()
        self.entered = sorted(entered - {name for name in entered if name in content.formulas})
        self.worked_out = sorted(content.formulas.keys() & content.places.keys())

    def edited(self, target: Path, seed: int, count: int) -> list[str]:
        """Writes a copy with so many edits, and says what they are."""
        chosen, edit = random.Random(seed), self.book.edit()
        said = [self._one(edit, chosen) for _ in range(count)]
        if chosen.random() < 0.3:  # last, since cells are called by where they were
            sheet, row, _ = self.content.places[chosen.choice(self.entered)]
            edit.insert(sheet, row=row)
            for merged in edit.sheet(sheet).findall(f"{edits.MAIN}mergeCells"):  # would now cover other cells
                edit.sheet(sheet).remove(merged)
            said.append(f"a row before {sheet}!{row}")
        edit.save(target)
        return said

    def _one(self, edit: edits.Edit, chosen: random.Random) -> str:
        kind = chosen.random()
        if kind < 0.4:
            name, value = chosen.choice(self.entered), chosen.choice(TYPED)
            edit.put(CellAddress(*self.content.places[name]), value)
            return f"{name} is {value!r}"
        name = chosen.choice(self.worked_out)
        if kind < 0.5:
            other = chosen.choice(self.worked_out + self.entered)
            sheet, row, column = self.content.places[other]
            at = re.sub(r"([A-Z]+)(\d+)", r"$\1$\2", CellAddress(sheet, row, column).cell)
            edit.point(name, f"'{sheet}'!{at}")
            return f"{name} leads to {other}"
        formula = self._altered(self.content.formulas[name], chosen)
        edit.formula(CellAddress(*self.content.places[name]), formula)
        return f"{name} is ={formula}"

    def _altered(self, formula: str, chosen: random.Random) -> str:
        kind = chosen.random()
        if kind < 0.4:
            wrap = chosen.choice(WRAPPED)
            number = f"{chosen.uniform(0.5, 3):.2f}"
            return wrap.format(number, formula) if wrap.startswith("{}&") else wrap.format(formula, number)
        names = names_in(formula)
        if kind < 0.7 and names:
            return re.sub(rf"\b{chosen.choice(names)}\b", chosen.choice(self.worked_out + self.entered), formula)
        possible = [pair for pair in SWAPPED if pair[0] in formula] or [("", "1+")]
        return formula.replace(*chosen.choice(possible), 1)
