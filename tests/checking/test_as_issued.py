"""With every edit put back, and in a file that nobody worked out since, figures are those that were proved at issue.

They are not worked out again then; here they are, and all that is said of the sheet has to be the same.
"""

from decimal import Decimal as D

from extent import extent
from hypothesis import given, settings
from hypothesis import strategies as st

from quotebook.checking.check import returned_quote
from quotebook.checking.shown_figures import ShownFigures
from quotebook.spreadsheets.cells import CellAddress
from quotebook.spreadsheets.formula_text import names_in

TYPED = {
    "days": st.integers(0, 6).map(D),
    "guests": st.integers(10, 90).map(D),
    "width_1": st.integers(4, 60).map(D),
    "surface": st.sampled_from(("grass", "paving", "lawn")),
    "client": st.just("Somebody else"),
    "hourly_rate": st.integers(0, 90).map(D),
    "kinds_rate": st.decimals(0, 90, places=2),
    "delivery": st.integers(0, 300).map(D),
}
FORMULAS = {"tax": "taxable*tax_rate*2", "goods": "hire_1"}
FIGURES = {"total": D(900), "labour": D(7), "panels_1": D(20)}
REPEATS = 30
"""Cells that show a figure a second time."""

edits = st.tuples(
    st.sets(st.sampled_from(sorted(TYPED)), max_size=3).flatmap(
        lambda names: st.fixed_dictionaries({name: TYPED[name] for name in sorted(names)})
    ),
    st.sets(st.sampled_from(sorted(FORMULAS)), max_size=1),
    st.sets(st.sampled_from(sorted(FIGURES)), max_size=1),
    st.sets(st.integers(0, REPEATS - 1), max_size=1),
)


class TheLongWay(ShownFigures):
    """Works everything out."""

    _can_be_as_issued = _shows_the_issue = _most_are_filled = False

    def _proved(self, but):
        return {}


def repeats(quote):
    """The cells without a name that were issued with a formula which reads figures alone.

    Where one reads an entry, the long way may hold that this had yet another value when the file was worked out
    last; in a file that shows its issue no entry had.
    """
    fixed, figures = quote.content.fixed.items(), quote.content.results.keys()
    formulas = [(CellAddress(sheet, *place), f"{said}") for sheet, cells in fixed for *place, said in cells]
    return [place for place, said in formulas if said.startswith("=") and figures >= {*names_in(said)}]


@given(edits)
@settings(max_examples=extent(25, 1_000))
def test_what_is_said_is_what_working_everything_out_gives(english, edit):
    typed, altered, forged, repeated = edit
    hand = english.book.edit()
    for name, value in typed.items():
        hand.put(english.place(name), value)
    for name in altered:
        hand.formula(english.place(name), FORMULAS[name])
    for name in forged:
        hand.cache(english.place(name), FIGURES[name])
    for place in repeated:
        hand.cache(repeats(english)[place], D(-7))
    path = hand.save(english.folder / "back.xlsx")
    short, long = (way(returned_quote(path, english.desk)) for way in (ShownFigures, TheLongWay))
    assert (short.state, short.stale_by, short.wrong, short.lag) == (long.state, long.stale_by, long.wrong, long.lag)
    every = short.comparison.edits
    for some in (every, *([each] for each in every)):
        assert short.effect_of(*some) == long.effect_of(*some)
