"""What stands around the cells of a sheet, read from its part without the cells: alike in most quotes of a desk."""

import re
from typing import NamedTuple

from quotebook.errors import Unreadable
from quotebook.spreadsheets.appearance import SheetAppearance
from quotebook.spreadsheets.grammar import Unknowns
from quotebook.spreadsheets.remembered import Remembered
from quotebook.spreadsheets.xlsx_appearance import look_around
from quotebook.spreadsheets.xlsx_parts import Parts, grammar_of, told_in
from quotebook.spreadsheets.xlsx_plain_steps import PlainSteps, steps_of
from quotebook.spreadsheets.xlsx_plain_text import has_only_texts, plain_text
from quotebook.spreadsheets.xlsx_sheet_table import SHEET
from quotebook.spreadsheets.xlsx_styles import OddStyles

FOOTER = re.compile(rb"<oddFooter>([^<]+)</oddFooter>")
ANY_FOOTER = "the footer, with the number of a quote"
"""What a frame is read with in place of its footer, the only thing in most frames that differs between quotes."""


class Frame(NamedTuple):
    """A sheet without its cells. Nobody changes what is in it: it serves for other files, too."""

    steps: PlainSteps
    """Those of its cells, where they are plain."""
    told: tuple[str, ...]
    """What is told of the sheet (`xlsx_sheet_table.TOLD`)."""
    look: SheetAppearance

    def appearance(self) -> SheetAppearance:
        """What the sheet looks like without its cells and without what its links lead to, to be added to."""
        look = self.look
        return SheetAppearance(
            hidden_rows={*look.hidden_rows},
            hidden_columns={*look.hidden_columns},
            page_texts=[*look.page_texts],
            pictures=[*look.pictures],
            rules=[*look.rules],
            covered=[*look.covered],
        )


def frame_of(parts: Parts, member: str, sheet: str, data: bytes, styles: OddStyles) -> Frame | None:
    """The frame in the part of a sheet without its cells; None where anything in it is to be noted, or no XML."""
    footer = _plain_footer(data)
    if footer is None:
        return _frame(parts, member, sheet, data, styles)
    frame = _frame(parts, member, sheet, FOOTER.sub(b"<oddFooter>%b</oddFooter>" % ANY_FOOTER.encode(), data), styles)
    if frame is None or frame.look.page_texts.count(ANY_FOOTER) != 1:  # what was taken for a footer was none
        return None
    look = frame.appearance()
    look.page_texts = [footer if text == ANY_FOOTER else text for text in look.page_texts]
    return frame._replace(look=look)


_FRAMES: Remembered[Frame | None] = Remembered()


def _frame(parts: Parts, member: str, sheet: str, data: bytes, styles: OddStyles) -> Frame | None:
    unknowns = Unknowns()

    def read() -> Frame | None:
        root = parts.held(member, data, "worksheet", SHEET, sheet=sheet, unknowns=unknowns)
        block, look = root.find(f"{parts.main}sheetData"), SheetAppearance()
        if block is None or block.prefix or len(block):
            return None
        look_around(root, member, unknowns, styles, look)
        steps = steps_of(grammar_of(SHEET, parts.namespace).rules, parts.main, root.nsmap)
        return Frame(steps, told_in(root, parts.main), look)

    try:
        frame = _FRAMES.of((data, parts.namespace, styles.digest), unknowns, read)
    except Unreadable:  # it is no whole without its cells: perhaps they stand in a comment
        return None
    return None if unknowns.times else frame


def _plain_footer(data: bytes) -> str | None:
    """The text of the one footer in a frame; None where there is none, or no plain one."""
    found = FOOTER.findall(data)
    if len(found) != 1 or ANY_FOOTER.encode() in data:
        return None
    try:
        text = plain_text(found[0].decode())
    except ValueError:
        return None
    return text if has_only_texts(found[0]) else None
