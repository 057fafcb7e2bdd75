"""How large a client's workbook is."""

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from random import Random

from quotebook import desk as desks
from quotebook.client.workbook import write_quote
from quotebook.demonstration.demo import EVENTS
from quotebook.engine.model import LINES, RateCard
from quotebook.quoting.issuing import issue_of

from .made import TODAY
from .measuring import Row

KINDS, TERMS, MOST = 5, 12, 75_000


def row(folder: Path) -> Row:
    bytes_ = max(size(folder, template) for template in ("rate_card.xlsx", "rate_card_metric.xlsx"))
    return Row(f"a client's workbook: {KINDS} kinds, {TERMS} terms, {LINES} floors", "-", bytes_, MOST, unit="bytes")


def size(folder: Path, template: str) -> int:
    """Bytes of a quote with every floor line taken, by a shipped card with as many kinds and terms."""
    desk = desks.init(folder / template, template)
    file, card = BytesIO(), grown(desk.card())
    floors = [replace(floor, panel=kind.panel) for floor in EVENTS[0].lines for kind in (card.rates.kinds * 2)[:LINES]]
    write_quote(file, issue_of(card, replace(EVENTS[0], lines=tuple(floors)), "Q0001", TODAY), desk.key())
    return len(file.getvalue())


def grown(card: RateCard) -> RateCard:
    """A card with so many kinds and terms: its own, and as many more under other names and in other words."""
    kinds, terms = [*card.rates.kinds], [*card.terms]
    for number in range(len(kinds), KINDS):
        kinds.append(replace(kinds[number % 2], panel=f"KIND-{number}", panel_name=f"A kind of panel, number {number}"))
    chance, words = Random(1), " ".join(terms).split()
    terms += [" ".join(chance.sample(words, 20)) for _ in range(len(terms), TERMS)]
    return replace(card, rates=replace(card.rates, kinds=tuple(kinds)), terms=tuple(terms))
