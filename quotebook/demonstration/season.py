"""Plays two invented years of quotes with the steps of real ones, so that the books have something to show."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

from quotebook import desk as desks
from quotebook.bookings.availability import fit
from quotebook.bookings.decisions import agree, cancel, count_back, deliver, losses_of, write_and_record
from quotebook.demonstration.demo import ledger_in, retype
from quotebook.desk import Desk
from quotebook.engine.model import CARPET_INDOORS, GRASS, HARD_INDOORS, NOT_HERE, PAVING, FloorLine, RateCard, Request
from quotebook.engine.money import ZERO
from quotebook.engine.price import price
from quotebook.ledger import Ledger
from quotebook.ledger.recording import NotEnough

D = Decimal

YEARS = (2026, 2027)
QUOTES = 240
SEASON = (2, 3, 4, 6, 10, 14, 14, 12, 9, 5, 4, 8)
"""The weight of each month when a quote's date is drawn: weddings are in summer, balls in December."""

HOSTS = (
    "Avelie Marsh", "Orrin Vale Players", "Tamsin Crake", "Saltfleet School", "The Dell Harvest Supper",
    "Ines Holloway", "Corn Exchange Trust", "Hotel Saltfleet", "Bram and Odile", "Rivermeet Rowing",
)  # fmt: skip
EVENTS = ("Wedding supper", "Ceilidh", "Summer ball", "Birthday dance", "Works party", "Harvest dance")
GROUNDS = (GRASS, GRASS, GRASS, PAVING, HARD_INDOORS, HARD_INDOORS, CARPET_INDOORS)
SIZES = ((12, 12), (12, 12), (12, 16), (12, 16), (16, 16), (16, 16), (16, 20))


def requests(card: RateCard, quotes: int, seed: int) -> Iterator[tuple[Request, date]]:
    """Requests by date, each with the day on which the client asks; equal seeds give equal requests."""
    chance = Random(seed)
    days = sorted(_event_date(chance) for _ in range(quotes))
    for day in days:
        surface = chance.choice(GROUNDS)
        kind = chance.choice([kind for kind in card.rates.kinds if kind.laying(surface) != NOT_HERE])
        width, length = map(D, chance.choice(SIZES))
        edging = card.firm.edging_on(surface) and kind.piece > 0
        yield Request(
            client=chance.choice(HOSTS), event=chance.choice(EVENTS), event_date=day, venue="",
            days=D(chance.choice((1, 1, 1, 2, 3))), surface=surface, miles=D(chance.randrange(3, 45)),
            flights=D(0 if surface in (GRASS, PAVING) else chance.choice((0, 0, 1, 2))),
            guests=D(chance.randrange(40, 220, 10)), after_hours=chance.random() < 0.2,
            waiver_taken=chance.random() < 0.5, lines=(FloorLine(kind.panel, width, length, edging),),
        ), day - timedelta(days=chance.randrange(21, 120))  # fmt: skip


def _event_date(chance: Random) -> date:
    [month] = chance.choices(range(1, 13), SEASON)
    return date(chance.choice(YEARS), month, chance.randrange(1, 29))


def run(folder: Path, quotes: int = QUOTES, seed: int = 1) -> tuple[Desk, Iterable[str]]:
    """Make a new desk in `folder`; returns it, and an iterable that plays one quote a step and gives its outcome."""
    desk = desks.init(folder / "desk")
    (folder / "returned").mkdir()
    return desk, _play(desk, folder / "returned", quotes, Random(seed), seed)


def _play(desk: Desk, returned: Path, quotes: int, chance: Random, seed: int) -> Iterator[str]:
    card, ledger = desk.card(), ledger_in(desk)
    for (request, asked), number in zip(requests(card, quotes, seed), desk.numbers(), strict=False):  # endless
        request = _moved_to_free_kind(ledger, card, request)
        written = write_and_record(desk, ledger, card, request, number, asked)
        if chance.random() < 0.25:
            yield "issued"
            continue
        more_guests = (request.guests or ZERO) + 10
        typed: dict[str, Decimal | str] = {"accepted": "yes"}
        if chance.random() < 0.2:
            typed["guests"] = more_guests
        answer = retype(written.path, returned / f"{number}.xlsx", written.content, typed, written.workbook)
        try:
            agree(desk, ledger, card, answer, today=asked + timedelta(days=7))
        except NotEnough:
            yield "not enough free"
            continue
        yield _carry_out(desk, ledger, card, request, number, chance)


def _moved_to_free_kind(ledger: Ledger, card: RateCard, request: Request) -> Request:
    """The request in another kind of panel if the kind asked for is not free."""
    alternatives = fit(ledger, card, request, price(card.rates, request)).alternatives
    return replace(request, lines=alternatives[1].other_kinds[:1] or request.lines) if alternatives else request


def _carry_out(desk: Desk, ledger: Ledger, card: RateCard, request: Request, number: str, chance: Random) -> str:
    """Cancel an agreed quote or deliver it and count it back; returns which, in words."""
    if chance.random() < 0.05:
        cancel(desk, ledger, number)
        return "cancelled"
    deliver(desk, ledger, number, sure=True)
    lost = [(request.lines[0].panel, 1)] if chance.random() < 0.03 else []
    count_back(desk, ledger, number, losses_of(card, lost, []), sure=True)
    return "counted back"
