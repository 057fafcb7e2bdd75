"""Says the advice on floors in words and as JSON: sizes for an event, and one floor in each kind of panel.

Lines of text are at most 80 columns wide. In JSON every figure has the engine's name; counts are
numbers; money, lengths, weights and minutes are texts, so that they stay exact.
"""

from collections.abc import Iterator, Sequence
from dataclasses import fields, replace
from datetime import date
from decimal import Decimal
from textwrap import wrap

from quotebook.contract.local import Local, local_for
from quotebook.contract.words import caution_sentences, caution_source, crew_sentences, words_in
from quotebook.engine.advice import MOST_PEOPLE, Advice, Size, Wish
from quotebook.engine.compare import Choice
from quotebook.engine.crew import owner_cautions
from quotebook.engine.floor import dancers, standing_room
from quotebook.engine.loading import TooHeavy
from quotebook.engine.model import NOT_HERE, WEIGHT_UNITS, PanelKind, RateCard
from quotebook.engine.money import plain, round6, round_up
from quotebook.engine.visits import Job
from quotebook.text_table import WIDTH, table

COUNTS = {"across", "along", "panels", "sheets", "carts", "trips", "dancers"}
"""Figures that JSON has as whole numbers."""

WHY_NOT = {
    "no_dancers": "nobody dances",
    "not_on_surface": "cannot go on {surface}",
    "no_room": "no floor of it has the area within the space, the ratio and the longest side",
}
"""The words for each value of `Advice.why_not`."""

CHOICE_FIGURES = {
    "panels": "Panels", "actual_width": "Width, {unit}", "actual_length": "Length, {unit}",
    "sheets": "Subfloor sheets", "hire": "Hire", "edging": "Edging", "subfloor": "Subfloor", "goods": "Goods",
    "labour": "Labour", "delivery": "Delivery", "total": "Total, {currency}",
    "minutes": "Minutes to lay, one person", "subfloor_minutes": "  of which subfloor",
    "setup_minutes": "  with unloading", "elapsed_minutes": "  by the clock, crew of {crew}",
    "carts": "Carts", "trips": "Trips", "weight": "Weight, {weight_unit}",
}  # fmt: skip
"""The label of each figure of a choice."""


def say_sizes(card: RateCard, wish: Wish, found: Sequence[Advice], on: date | None = None) -> Iterator[str]:
    """The advice on sizes as lines of text; `on` is the date when panels must be free, None for all owned."""
    unit, local = card.firm.length_unit, local_for(card.firm)
    number = local.number
    yield from wrap(
        f"{number(wish.guests)} guests, of whom {number(wish.dancers_share * 100)} % dance at once: "
        f"{number(wish.dancers)} dancers on {number(max(wish.area_per_dancer, wish.crowding_area))} sq {unit} each "
        f"need {number(wish.area_needed)} sq {unit}. Both figures are assumptions (common practice, no source): "
        "change them with --share and --area.",
        WIDTH,
    )
    if wish.area_per_dancer < wish.crowding_area:
        crowded = crowding_caution(card, wish.guests, wish.dancers * wish.area_per_dancer, wish.dancers_share)
        yield from wrap(f"On {number(wish.area_per_dancer)} sq {unit} each: {crowded}", WIDTH)
    for advice in found:
        yield ""
        if advice.why_not:
            yield from wrap(f"{_named(advice.kind)}: {WHY_NOT[advice.why_not].format(surface=wish.surface)}.", WIDTH)
        else:
            free = f"{number(advice.kind.free)} panels " + (f"free on {local.day(on)}" if on else "owned")
            yield from wrap(f"{_named(advice.kind)}: {advice.laying} on {wish.surface}, {free}", WIDTH)
            yield from _sizes_table(card, advice)
    yield ""
    yield from wrap(
        f"Sides are within 1 : {number(wish.longest_ratio)}. The column `each` has the sq {unit} for each dancer. The "
        f"total is that of the whole quote in {card.firm.currency}, {'with' if wish.edging_wanted else 'without'} "
        f"edging. The minutes are by the clock, for 1 to {MOST_PEOPLE} people, with unloading (common practice, no "
        "source).",
        WIDTH,
    )
    if wish.within:
        english = replace(card.firm, language="en")
        yield from wrap(f"{caution_sentences(english)['exits']} {caution_source('exits', english)}", WIDTH)


def _sizes_table(card: RateCard, advice: Advice) -> Iterator[str]:
    unit, weight_unit = card.firm.length_unit, WEIGHT_UNITS[card.firm.length_unit]
    headings = ("panels", f"size, {unit}", "shape", "each", "total", "minutes", "carts", weight_unit, "free")
    return table(headings, (_size_row(size, local_for(card.firm)) for size in advice.sizes), left=0)


def _size_row(size: Size, local: Local) -> tuple[str, ...]:
    return (
        local.number(size.panels),
        f"{local.number(size.actual_width)} x {local.number(size.actual_length)}",
        size.shape,
        local.amount(round(size.area_a_dancer, 2)),
        local.amount(size.total),
        "/".join(local.number(round_up(minutes)) for minutes in size.elapsed_minutes),
        local.number(size.carts),
        local.number(round_up(size.weight)),
        "yes" if size.enough_free else "no",
    )


def sizes_as_json(wish: Wish, found: Sequence[Advice]) -> dict[str, object]:
    """The advice on sizes as JSON: the event and its assumptions, and for each kind its sizes, best first."""
    asked = {
        name: getattr(wish, name) for name in ("guests", "dancers", "area_needed", "dancers_share", "area_per_dancer")
    }
    return {
        **{name: _plain_value(name, value) for name, value in asked.items()},
        "assumed": ["dancers_share", "area_per_dancer"],
        "surface": wish.surface,
        "kinds": [
            _kind_as_json(advice) | {"why_not": advice.why_not, "sizes": [_as_json(size) for size in advice.sizes]}
            for advice in found
        ],
    }


def say_choices(
    card: RateCard, surface: str, found: Sequence[Choice], event_date: date | None = None, most: int = 4
) -> Iterator[str]:
    """One floor in each kind side by side, as lines of text: tables of `most` kinds, then what to know of each kind."""
    possible, local = [choice for choice in found if choice.laying != NOT_HERE], local_for(card.firm)
    said = {
        "unit": card.firm.length_unit,
        "weight_unit": WEIGHT_UNITS[card.firm.length_unit],
        "currency": card.firm.currency,
        "crew": plain(card.rates.crew),
    }
    for start in range(0, len(possible), most):
        side_by_side = possible[start : start + most]
        headings = ("", *(choice.kind.panel for choice in side_by_side))
        rows = [
            (label.format(**said), *(_cell(name, getattr(choice, name), local) for choice in side_by_side))
            for name, label in CHOICE_FIGURES.items()
        ]
        yield from table(headings, rows)
        yield ""
    for choice in found:
        yield from _remarks(card, choice, surface, event_date)


def _cell(name: str, value: Decimal, local: Local) -> str:
    if name in ("hire", "edging", "subfloor", "goods", "labour", "delivery", "total"):
        return local.amount(value)
    return local.number(value.quantize(Decimal("0.1")) if name == "elapsed_minutes" else value)


def _remarks(card: RateCard, choice: Choice, surface: str, event_date: date | None) -> Iterator[str]:
    if choice.laying == NOT_HERE:
        yield f"{_named(choice.kind)}: cannot go on {surface}."
        return
    day = event_date and local_for(card.firm).day(event_date)
    said = words_in("en")["notes"] | {
        "not_enough_free": f"More panels than are free on {day}." if day else "More panels than you own."
    }
    notes = " ".join(said[key] for key in choice.notes)
    if notes:
        yield from wrap(f"{_named(choice.kind)}: {notes}", WIDTH, subsequent_indent="  ")


def choices_as_json(surface: str, found: Sequence[Choice]) -> dict[str, object]:
    """One floor in each kind as JSON: the ground, and for each kind its figures and notes."""
    kinds = [_kind_as_json(choice) | {"notes": list(choice.notes)} | _as_json(choice) for choice in found]
    return {"surface": surface, "kinds": kinds}


def crowding_caution(card: RateCard, guests: Decimal, area: Decimal, dancers_share: Decimal | None = None) -> str:
    """The caution, in English, that a floor of this area has no standing space for the guests who dance; or nothing.

    Their share is the card's unless it is given.
    """
    share = card.rates.dancers_share if dancers_share is None else dancers_share
    if dancers(guests, share) <= standing_room(area, card.rates.crowding_area):
        return ""
    english = replace(card.firm, language="en")
    said = caution_sentences(english)["crowding"].format(crowding_area=plain(card.rates.crowding_area))
    return f"{said} {caution_source('crowding', english)}"


def say_cautions(card: RateCard, job: Job) -> Iterator[str]:
    """What the owner should plan for before a quote is sent: trips, rules of the road, people for heavy lifts."""
    try:
        found = owner_cautions(card, job)
    except TooHeavy as error:
        yield f"{error}."
        return
    for sentence, source in crew_sentences(found, replace(card.firm, language="en")):
        yield f"{sentence} {source}"


def _kind_as_json(one: Advice | Choice) -> dict[str, object]:
    return {
        "panel": one.kind.panel,
        "panel_name": one.kind.panel_name,
        "laying": one.laying,
        "free": int(one.kind.free),
    }


def _as_json(record: Size | Choice) -> dict[str, object]:
    """The figures of a size or a choice by name, as JSON values."""
    skipped = ("kind", "laying", "notes")
    return {
        field.name: _plain_value(field.name, getattr(record, field.name))
        for field in fields(record)
        if field.name not in skipped
    }


def _plain_value(name: str, value: object) -> object:
    if isinstance(value, tuple):
        return [_plain_value(name, each) for each in value]
    if not isinstance(value, Decimal):
        return value
    return int(value) if name in COUNTS else plain(round6(value))


def _named(kind: PanelKind) -> str:
    return f"{kind.panel} ({kind.panel_name})"
