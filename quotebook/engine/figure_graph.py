"""Figures in the order in which they are worked out.

A figure is a function: its name is the figure's, and its parameters name what it rests on.
"""

from collections.abc import Callable, Iterable
from decimal import Decimal
from inspect import signature
from typing import Any, NamedTuple

Scope = dict[str, Any]
"""What a figure can rest on, by name: amounts, yes or no, texts, tuples, each of the type that the parameter says."""


class Step(NamedTuple):
    """One figure to work out."""

    figure: str
    function: Callable[..., Decimal]
    rests_on: tuple[str, ...]
    """Names of the function's parameters."""


def steps(functions: Iterable[Callable[..., Decimal]], known: Iterable[str]) -> tuple[Step, ...]:
    """A step for each function, in order; `known` names what there is before the first of them.

    Raises TypeError, with the figure's name and the parameter's, for one that rests on anything else.
    """
    found, there = [], set(known)
    for function in functions:
        step = Step(function.__name__, function, tuple(signature(function).parameters))
        if unknown := [name for name in step.rests_on if name not in there]:
            raise TypeError(
                f"figure {step.figure}: its parameter {unknown[0]} is neither a figure worked out before it, "
                "an entry, a rate nor a looked-up field"
            )
        there.add(step.figure)
        found.append(step)
    return tuple(found)


def figures_of(some: Iterable[Step]) -> tuple[str, ...]:
    """The names of the figures that some steps work out."""
    return tuple(step.figure for step in some)


def require_fields(record: type[object], names: Iterable[str], fields_of_record: Iterable[str]) -> None:
    """Raises TypeError for a figure that its record has no field for, and for a field that nothing works out."""
    if odd := sorted(set(names) ^ set(fields_of_record)):
        raise TypeError(f"{record.__name__}: {', '.join(odd)} must be both a field and a figure that is worked out")


def work_out(some: Iterable[Step], scope: Scope) -> Scope:
    """The figures that some steps work out, by name; later ones rest on the earlier and on `scope`."""
    scope, figures = dict(scope), {}
    for figure, function, rests_on in some:
        scope[figure] = figures[figure] = function(*[scope[name] for name in rests_on])
    return figures
