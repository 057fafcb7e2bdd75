"""The report on a file, word for word, and the small comparisons on which its findings rest."""

from collections import Counter
from decimal import Decimal as D
from types import SimpleNamespace

import pytest

from quotebook.checking import batch
from quotebook.checking.advice import advice_on
from quotebook.checking.answer import Answer
from quotebook.checking.check import Report, check_file, returned_quote
from quotebook.checking.check_figures import _some
from quotebook.checking.check_sheets import _bears_words_of
from quotebook.checking.edits import CellEdit
from quotebook.checking.explanation import explain, in_words
from quotebook.checking.findings import Finding
from quotebook.checking.issued import _missing
from quotebook.checking.kinds import Kind
from quotebook.checking.moved import UNMOVED, _in_order
from quotebook.checking.report import as_json as report_as_json
from quotebook.checking.report import direction, replies_in_words
from quotebook.checking.report import in_words as report_in_words
from quotebook.checking.worked_out import WorkedOut
from quotebook.spreadsheets.cells import Cell, CellAddress, CellRange, Sheet

RATE = Finding(
    Kind.RATE_CHANGED,
    "Labour, per person and hour: 33.60 when issued, now 12.00. Only you set it.",
    "hourly_rate",
    effect=D("-43.20"),
)
WIDTH = Finding(Kind.INPUT_CHANGED, "Width, line 1: 14 ft when issued, now 20 ft.", "width_1", effect=D("229.73"))
ROW = Finding(Kind.LINES_HIDDEN, "Quote: row 28 hidden, with what is on it.", "", "Quote", "A28")


def report(verdict="changed", answer=Answer.NONE, findings=(), **more):
    values = {"quote": "Q0001", "revision": 2, "issued": D(100), "sheet": D(120), "engine": D(120)} | more
    return Report("back.xlsx", verdict, tuple(findings), answer=answer, **values)


def test_a_report_word_for_word():
    found = report("disputed", Answer.UNCLEAR, (RATE, WIDTH), worked_out=D("286.53"), sheet=D("290.00"))
    found = Report(**{**vars(found), "replies": (("accepted", "perhaps"), ("questions", "Is it dear?"))})
    assert [*report_in_words(found)] == [
        "back.xlsx: Q0001 revision 2, disputed; the answer is neither yes nor no",
        "  total as issued 100, as it should be 120, as the sheet works it out 286.53, in",
        "    the file 290.00",
        "  - input-changed: Width, line 1: 14 ft when issued, now 20 ft. (+229.73, more)",
        "  - rate-changed: Labour, per person and hour: 33.60 when issued, now 12.00.",
        "    Only you set it. (-43.20, too little)",
        "  In brackets: by how much the sheet's total is higher (+) or lower (-) than it",
        "    would be with that one thing put back and everything else left as it is.",
        "  +3.47 is left over: some of these changes affect what others are worth.",
        "  Accepted: perhaps",
        "  Questions: Is it dear?",
        "  Settle this with the client. If you accept it all, your own rates and formulas",
        "  stay, and you can say:",
        "    quotebook reissue back.xlsx --accept rate-changed:hourly_rate",
    ]


def test_a_report_on_a_file_without_a_quote_word_for_word():
    found = Report("back.xlsx", "unreadable", (Finding(Kind.UNREADABLE, "back.xlsx: is empty."),))
    assert [*report_in_words(found)] == ["back.xlsx: unreadable", "  - unreadable: back.xlsx: is empty."]


def test_a_report_as_json():
    found = report("disputed", Answer.YES, (WIDTH, RATE), worked_out=D("286.53"), sheet=D("290.00"), picked="B")
    found = Report(**{**vars(found), "replies": (("accepted", "yes"),), "state": "mismatching"})
    said = report_as_json(found)
    assert [finding["effect"] for finding in said.pop("findings")] == ["229.73", "-43.20"]
    assert said == {
        "file": "back.xlsx", "quote": "Q0001", "revision": 2, "verdict": "disputed", "answer": "yes", "picked": "B",
        "totals": {"issued": "100", "sheet": "290.00", "engine": "120", "worked_out": "286.53"},
        "state": "mismatching", "remainder": "3.47", "replies": {"accepted": "yes"},
    }  # fmt: skip


def test_a_long_reply_goes_on_below_itself():
    [first, second] = replies_in_words([("questions", "Is it " + "very " * 15 + "dear?")])
    assert first.startswith("  Questions: Is it very") and second.startswith("    very")


def test_no_more_processes_than_are_asked_for(monkeypatch):
    asked_for = []
    monkeypatch.setattr(batch, "_on_processes", lambda check, files, jobs: asked_for.append(jobs) or [])
    assert [*batch.check_all([None] * 100, None, issued=object(), jobs=3)] == []
    assert asked_for == [3]


@pytest.mark.parametrize(
    ("kind", "effect", "said"),
    [
        (Kind.RATE_CHANGED, "0.01", "too much"), (Kind.RATE_CHANGED, "-0.01", "too little"),
        (Kind.INPUT_CHANGED, "0.01", "more"), (Kind.INPUT_CHANGED, "-0.01", "less"),
    ],
)  # fmt: skip
def test_what_an_effect_means(kind, effect, said):
    assert direction(kind, D(effect)) == said


def test_a_rate_card_is_no_quote(english):
    card = english.desk.folder / "rate_card.xlsx"
    said = f"{card}: This is a rate card and not a quote. Its entries are checked whenever a command reads it."
    assert check_file(card, english.desk) == Report(str(card), "unreadable", (Finding(Kind.NOT_A_QUOTE, said),))


def test_figures_that_are_missing_are_said_to_be_none():
    line = [*report_in_words(report("agrees", issued=D(5), sheet=None, engine=D(5), worked_out=None))][1:3]
    said = "  total as issued 5, as it should be 5, as the sheet works it out none, in the file none"
    assert " ".join(part.strip() for part in line) == said.strip()


ADVICE = {
    "as issued": (
        report("agrees"),
        "To answer the client with the next revision, or to agree it once the client says yes:",
        ["reissue back.xlsx", 'agree back.xlsx --said-yes "by telephone"'],
    ),
    "changed": (
        report(findings=(WIDTH,)),
        (
            "Only what the client may change was changed, and it adds up. "
            "To answer the client with the next revision, or to agree it once the client says yes:"
        ),
        ["reissue back.xlsx", 'agree back.xlsx --said-yes "by telephone"'],
    ),
    "not worked out": (
        report(findings=(WIDTH, Finding(Kind.NOT_RECALCULATED, "")), answer=Answer.YES),
        "What counts is the total as it should be, not the figures in the file. The client says yes. Agree it:",
        ["agree back.xlsx"],
    ),
    "a row hidden": (
        report(findings=(ROW,), answer=Answer.YES, desk="my desk"),
        (
            "Only what the client may change was changed, and it adds up. "
            "Look at what is told of the sheets first. The client says yes. Agree it:"
        ),
        ["agree --desk 'my desk' back.xlsx --accept 'lines-hidden:Quote!A28'"],
    ),
    "a no": (
        report("agrees", Answer.NO),
        "The client says no, so it is not agreed. To offer it anew:",
        ["reissue back.xlsx"],
    ),
    "an older revision": (
        report("disputed", findings=(RATE, Finding(Kind.OLDER_REVISION, ""))),
        "This revision can no longer be agreed or reissued.",
        [],
    ),
    "an entry that cannot be used": (
        report("disputed", findings=(Finding(Kind.INPUT_INVALID, ""),)),
        "Until the client has corrected what cannot be used, it can be neither agreed nor reissued.",
        [],
    ),
    "a part of a floor": (
        report("disputed", findings=(Finding(Kind.PART_CHANGED, ""),)),
        "It can be neither agreed nor reissued part by part.",
        [],
    ),
    "no telling what was issued": (report("disputed", None), "", []),
    "no quote": (report("unreadable", None), "", []),
}


@pytest.mark.parametrize(("found", "sentence", "commands"), ADVICE.values(), ids=ADVICE)
def test_advice_word_for_word(found, sentence, commands):
    assert advice_on(found) == (sentence, tuple(f"quotebook {command}" for command in commands))


# Of one quote


NOT_USABLE = {
    "a number with its unit": (
        {"width_1": "12'"}, "“12'” is a text and not a number. Ask the client to type 12; it must be ",
    ),
    "a whole number": (
        {"guests": " 90"}, "“ 90” is a text and not a number. Ask the client to type 90; it must be ",
    ),
    "a day": (
        {"event_date": "3 July 2027"},
        "“3 July 2027” is a text and not a day. Ask the client to type 2027-07-03; it must be",
    ),
    "a word with a space": (
        {"waiver_taken": "yes "},
        "“yes ” is a text and not what the formulas compare. Ask the client to type yes; it must be yes or no.",
    ),
    "anything else": ({"waiver_taken": "perhaps"}, "perhaps cannot be used; it must be yes or no."),
    "a truth": ({"client": True}, "TRUE cannot be used; it must be neither TRUE nor FALSE nor an error."),
}  # fmt: skip


@pytest.mark.parametrize(("typed", "said"), NOT_USABLE.values(), ids=NOT_USABLE)
def test_why_an_entry_cannot_be_used(english, typed, said):
    [name] = typed
    [message] = [each for each in english.said(**typed) if f"({name})" in each]
    assert message.partition(": ")[2].startswith(said)


def test_a_formula_is_put_back_with_the_figure_that_it_had(english):
    path = english.saved(tax=D(0))
    edit = returned_quote(path, english.desk).formula_edit("tax")
    assert edit == CellEdit(english.place("tax"), Cell(english.content.results["tax"], english.content.formulas["tax"]))


def test_a_worth_is_money_or_none(english):
    sheet = WorkedOut(returned_quote(english.path, english.desk))
    assert sheet._difference(D("10.006"), D(3)) == D("7.01")
    assert sheet._difference(D(3), D("10.006")) == D("-7.01")
    assert sheet._difference(D(10**15), D(0)) is sheet._difference(D(0), D(10**15)) is None
    assert sheet._difference(D(10**15 - 1), D(0)) == 10**15 - 1
    assert sheet._difference("10", D(3)) is sheet._difference(D(10), None) is None


@pytest.mark.parametrize(
    ("texts", "others", "bears"),
    [("abcd", "ab", True), ("abcd", "a", False), ("abc", "ab", True), ("abc", "a", False), ("", "a", False)],
)
def test_a_sheet_bears_another_s_words_from_a_half_of_them_on(texts, others, bears):
    ours, other = (
        Sheet(
            name, "visible", {(row, 1): Cell(text, None) for row, text in enumerate([*said, "", D(row_of_number)], 1)}
        )
        for name, said, row_of_number in (("ours", texts, 1), ("other", others, 1))
    )
    assert _bears_words_of(other, ours) == bears


def names_of(english, depth):
    sheet = WorkedOut(returned_quote(english.path, english.desk))
    return [step.name for step in explain(sheet, "balance", depth)]


def test_steps_go_down_as_far_as_they_are_asked_to(english):
    """balance = total - deposit; both are read before what either of them reads."""
    assert names_of(english, 0) == ["balance"]
    assert names_of(english, 1) == ["balance", "total", "deposit"]
    two = names_of(english, 2)
    assert two[:3] == ["balance", "total", "deposit"] and {"goods", "deposit_share"} <= {*two[3:]}
    assert len(names_of(english, None)) > len(names_of(english, 3)) > len(two)
    assert not any(name.startswith("word_") or name == "minor_units" for name in names_of(english, None))


@pytest.mark.parametrize("name", ["profit", "kinds_rate"])
def test_what_is_no_figure_has_no_steps(english, name):
    with pytest.raises(KeyError):
        explain(WorkedOut(returned_quote(english.path, english.desk)), name)


def test_a_step_says_what_it_was_only_where_that_is_something_else():
    step = {"name": "labour", "label": "Labour", "value": "60.00", "issued": "157.00", "in_numbers": "5 x 12.00"}
    told = SimpleNamespace(**step, differs=True, parts_here=True)
    plain = SimpleNamespace(**{**step, "label": "", "in_numbers": ""}, differs=False, parts_here=False)
    assert [*in_words([told, plain])] == [
        "Labour (labour): 60.00 = 5 x 12.00 [issued: 157.00]   <- changed here",
        "labour: 60.00",
    ]


def test_a_figure_that_was_emptied_is_blank(english):
    sheet = WorkedOut(returned_quote(english.saved(hourly_rate=None), english.desk))
    [step] = [step for step in explain(sheet, "labour") if step.name == "hourly_rate"]
    assert (step.value, step.issued, step.differs) == ("blank", "33.60", True)


def test_nothing_has_moved_where_nothing_says_so():
    assert _in_order(Counter()) == UNMOVED


def test_up_to_three_figures_are_named_and_more_are_counted():
    sheet = SimpleNamespace(labels=SimpleNamespace(named=str.upper))
    assert _some(sheet, ["a", "b", "c"]) == "A; B; C"
    assert _some(sheet, ["a", "b", "c", "d", "e"]) == "A; B; C and 2 others"


def test_a_stamp_that_is_gone_is_said_with_what_follows():
    finding = _missing("It was checked all the same.")
    assert finding.kind is Kind.STAMP_MISSING
    assert finding.message == (
        "What you signed when you issued it (the hidden sheet stamp) is gone. It was checked all the same."
    )


def test_the_last_row_and_column_of_an_area_belong_to_it():
    area = CellRange("Quote", 2, 3, 4, 6)
    places = [(row, column) for row in range(1, 6) for column in range(2, 8)]
    inside = [place for place in places if area.holds(CellAddress("Quote", *place))]
    assert inside == [(row, column) for row in (2, 3, 4) for column in (3, 4, 5, 6)]
    assert not area.holds(CellAddress("Rates", 3, 4))
