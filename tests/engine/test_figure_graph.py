"""What a figure rests on is held to what is there when the engine is loaded, not when a quote comes to 0."""

from dataclasses import make_dataclass, replace
from decimal import Decimal as D
from importlib.util import module_from_spec, spec_from_file_location

import pytest
import worked_example

from quotebook.engine import charges, figures, floor, price, suggestion
from quotebook.engine.figure_graph import require_fields, steps
from quotebook.engine.model import Request


def load_price_again():
    """A second copy of the module, loaded as the first one was."""
    spec = spec_from_file_location("price_again", price.__file__)
    again = module_from_spec(spec)
    spec.loader.exec_module(again)
    return again


def test_a_mistyped_parameter_fails_when_the_engine_is_loaded(monkeypatch):
    def ramp(pannels):
        return pannels

    load_price_again()
    monkeypatch.setattr(floor, "LINE_FIGURES", (*floor.LINE_FIGURES, ramp))
    with pytest.raises(TypeError, match="figure ramp: its parameter pannels is neither a figure worked out before it"):
        load_price_again()


def test_a_figure_worked_out_too_late_fails(monkeypatch):
    """`tax` before `taxable`."""
    later = tuple(sorted(charges.FIGURES, key=lambda figure: figure is charges.taxable))
    monkeypatch.setattr(charges, "FIGURES", later)
    with pytest.raises(TypeError, match="figure tax: its parameter taxable"):
        load_price_again()


@pytest.mark.parametrize(
    "figure",
    [lambda panels: panels, lambda hire_each: hire_each, lambda width: width, lambda purchase_price: purchase_price],
    ids=["sum over lines", "figure of the lines", "entry on a line", "private price"],
)
def test_what_is_not_there_before_the_lines_fails(figure):
    with pytest.raises(TypeError, match="is neither a figure worked out before it"):
        steps((figure,), (*price.RATES, *price.ENTRIES))


def test_a_figure_without_a_field_fails(monkeypatch):
    monkeypatch.setattr(suggestion, "FIGURES", suggestion.FIGURES[:-1])
    with pytest.raises(TypeError, match="Figures: suggested_length must be both a field and a figure"):
        load_price_again()
    with pytest.raises(TypeError, match="Some: gone, new must be"):
        require_fields(make_dataclass("Some", ["gone"]), ["new"], ["gone"])


def test_every_figure_has_one_flat_name_after_those_it_rests_on():
    found = price.price(worked_example.RATES, worked_example.REQUEST)
    flat = found.by_name()
    assert list(flat)[:8] == [*figures.QUOTE_FIGURES[:7], "panel_width_1"] and list(flat)[-1] == "suggested_length"
    assert len(flat) == 6 * len(figures.LINE_FIGURES) + len(figures.QUOTE_FIGURES)
    assert (flat["panels_2"], flat["panels"]) == (found.line(2).panels, found.panels) == (20, 68)


def test_a_mistyped_figure_is_no_figure():
    found = price.price(worked_example.RATES, worked_example.REQUEST)
    with pytest.raises(AttributeError):
        _ = found.line(1).pannels


@pytest.mark.parametrize(
    ("names", "mistyped"), [("OF_KIND", "rates"), ("OF_SUBFLOOR", "sheets_rate"), ("LINE_ENTRIES", "widht")]
)
def test_a_mistyped_field_is_no_zero(names, mistyped, monkeypatch):
    """Of a panel kind, of its subfloor, of an entry: each is read by its name or not at all."""
    over_subfloor = replace(worked_example.REQUEST, lines=worked_example.REQUEST.lines[1:2])
    monkeypatch.setattr(price, names, (*getattr(price, names), mistyped))
    with pytest.raises(AttributeError, match=mistyped):
        price.price(worked_example.RATES, over_subfloor)


def test_a_blank_entry_counts_as_nothing():
    blank = price.price(worked_example.RATES, replace(Request(), lines=worked_example.REQUEST.lines))
    assert (blank.days_counted, blank.miles_counted, blank.line(1).panels, blank.line(1).hire) == (0, 0, D(30), 0)
