"""What it costs to play a season of many requests, to draw one again, and to hold two floors against each other."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from random import Random

from ledger_fixtures import CARD, floor
from worked_example import REQUEST

from quotebook.buying.break_even import Terms
from quotebook.buying.break_even_report import compare_on
from quotebook.buying.charge import ChargeTerms, charges
from quotebook.buying.demand import LISTED, Asked, bookings
from quotebook.buying.price_ladder import Costs
from quotebook.buying.purchases import Assumed, kinds_to_buy, steps_of_kinds
from quotebook.buying.redraws import DRAWN_AGAIN, redrawn

from .measuring import Row, in_turn, seconds

CREW_COST = Decimal("31.40")
STEPS, FEW_STEPS, FEW = 30, 12, 300
SIDES = Decimal(16), Decimal(20)
CHARGED = ChargeTerms("2027", 2027, Decimal("0.05"), Decimal("0.1"), Costs(CREW_COST, Decimal(85)))


def season(count: int) -> list[Asked]:
    """So many requests on random days of a year, of four sizes."""
    chance = Random(count)
    days = (date(2027, 1, 1) + timedelta(chance.randrange(365)) for _ in range(count))
    floors = (floor("4x4", *chance.choice(((12, 12), (16, 16), (16, 20), (20, 24)))) for _ in range(count))
    return [
        Asked(str(place), replace(REQUEST, event_date=day, lines=lines, days=Decimal(1)), LISTED)
        for place, (day, lines) in enumerate(zip(days, floors, strict=True))
    ]


def played(asked: list[Asked], steps: int) -> object:
    """The season with every step of one kind, from the requests on."""
    booked = bookings(CARD, asked, ["4x4"], CREW_COST, preferred=False)
    return steps_of_kinds(CARD, booked, kinds_to_buy(CARD, booked, ["4x4"]), assumed(steps))


def drawn_again(asked: list[Asked], steps: int) -> object:
    booked = bookings(CARD, asked, ["4x4"], CREW_COST, preferred=False)
    return redrawn(CARD, booked, kinds_to_buy(CARD, booked, ["4x4"]), assumed(steps), DRAWN_AGAIN, seed=1)


def assumed(steps: int) -> Assumed:
    return Assumed(CREW_COST, Decimal("0.08"), Decimal(0), steps)


def rows(count: int, rounds: int) -> Iterator[Row]:
    many, fewer, few = season(count), season(count // 4), season(FEW)
    terms = Terms(CREW_COST, Decimal(85), Decimal("0.08"))
    found = in_turn({
        "season": partial(played, many, STEPS),
        "a quarter of the requests": partial(played, fewer, STEPS),
        "redraws": partial(drawn_again, few, FEW_STEPS),
        "charge": partial(charges, CARD, many, ["4x4", "2x3"], CHARGED),
        "break-even": partial(compare_on, CARD, ("4x4", "2x3"), "grass", SIDES, terms),
    }, rounds)  # fmt: skip
    work = f"buy: {count:,} requests, one kind, {STEPS} steps"
    counted = "in: pricing the requests, every step; out: reading them, redraws, the workbook"
    yield Row(work, "-", found["season"].wall, 5, unit="s", costs=found, counted=counted)
    ratio = found["season"].wall / found["a quarter of the requests"].wall
    yield Row(work, "a quarter of the requests (4 x is linear)", ratio, 4.5)
    yield Row(
        f"buy: {DRAWN_AGAIN} redraws of {FEW} requests, {FEW_STEPS} steps", "-", found["redraws"].wall, 20, unit="s"
    )
    yield seconds(
        "break-even of two kinds", 0.1, found["break-even"], "in: both floors on two grounds; out: the workbook"
    )
    counted = "in: pricing the requests, use, ladders of two kinds; out: reading them, the workbook"
    yield seconds(f"charge: {count:,} requests", 10, found["charge"], counted)
