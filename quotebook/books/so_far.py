"""What each kind of panel has earned since it was bought, by the ledger, and the day on which it is paid off.

Money is in the card's currency and before tax. A kind pays for itself by the hire of its panels net of discount and
its share of labour, less what its crew is paid and what was lost or damaged. Edging and subfloor, which the price of
the panels does not cover, and delivery, whose cost the ledger does not know, are shown and not counted; the damage
waiver and the tax that clients pay are left out. Amounts are rounded month by month.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate
from typing import NamedTuple

from sqlalchemy import func, select

from quotebook.books.payback_plans import Assumptions
from quotebook.books.revenue import AGREED_LINES, LINE_AMOUNTS, SPREAD_CHARGES, agreed_from, months_between
from quotebook.contract.local import Local
from quotebook.engine.before_tax import hourly_rate_before_tax
from quotebook.engine.model import RateCard
from quotebook.engine.money import ZERO, in_major_units, money, round_up
from quotebook.engine.stock import Item
from quotebook.ledger import Ledger
from quotebook.ledger.codes import kind_now
from quotebook.ledger.tables import losses, quotes
from quotebook.text_table import table

YEAR = timedelta(365)
"""The last twelve months, whose pace is taken to go on."""

EARNED = ("hire", "edging", "subfloor", "labour", "delivery")


class Entry(NamedTuple):
    """What one day brought, or the sum of several."""

    day: date
    hires: int
    hire: Decimal
    edging: Decimal
    subfloor: Decimal
    labour: Decimal
    delivery: Decimal
    crew_hours: Decimal
    lost: int
    """Panels lost or damaged, less those repaired."""


@dataclass(frozen=True)
class SoFar:
    """One kind from the day it was bought on to `last`."""

    kind: str
    bought_on: date
    last: date
    cost: Decimal
    price: Decimal
    """For one panel."""
    crew_cost: Decimal
    """One crew member, per hour."""
    minor_units: int
    entries: tuple[Entry, ...]
    """By day; none for a kind without hires."""

    def crew_paid(self, entry: Entry) -> Decimal:
        return money(entry.crew_hours * self.crew_cost, self.minor_units)

    def losses(self, entry: Entry) -> Decimal:
        return money(entry.lost * self.price, self.minor_units)

    def left(self, entry: Entry) -> Decimal:
        """What counts towards the cost."""
        return entry.hire + entry.labour - self.crew_paid(entry) - self.losses(entry)

    @property
    def total(self) -> Entry:
        return total(self.last, self.entries)

    @property
    def months(self) -> list[Entry]:
        """A sum for each month from the purchase on."""
        return [
            total(date.fromisoformat(f"{month}-01"), (each for each in self.entries if f"{each.day:%Y-%m}" == month))
            for month in months_between(self.bought_on, self.last)
        ]

    def over_months(self, amount: Callable[[Entry], Decimal]) -> Decimal:
        """The sum over the months of an amount of each, such as `self.left`."""
        return sum(map(amount, self.months), ZERO)

    @property
    def to_earn(self) -> Decimal:
        """What is still to be earned; 0 where it is paid off."""
        return money(max(ZERO, self.cost - self.over_months(self.left)), self.minor_units)

    @property
    def left_in_a_year(self) -> Decimal:
        """What the last twelve months left."""
        return self.left(total(self.last, (entry for entry in self.entries if entry.day > self.last - YEAR)))

    @property
    def paid_off_on(self) -> date | None:
        """The day from which on it was paid off, or will be at the pace of the last twelve months; None if never."""
        if not self.to_earn:
            owing = accumulate(
                (self.left(entry) for entry in self.entries), lambda so_far, left: so_far - left, initial=self.cost
            )
            balances = list(owing)[1:]
            unpaid = max((place for place, balance in enumerate(balances) if balance > 0), default=-1)
            return self.entries[min(unpaid + 1, len(balances) - 1)].day if self.entries else self.bought_on
        days_of_pace = min(YEAR, self.last - self.bought_on + timedelta(1)).days
        if self.left_in_a_year <= 0 or days_of_pace < 1:
            return None
        days = round_up(self.to_earn * days_of_pace / self.left_in_a_year)
        return self.last + timedelta(int(days)) if days < LONGEST else None


LONGEST = 100 * 365
"""Days after which it counts as never."""


def total(day: date, entries: Iterable[Entry]) -> Entry:
    """The sum of several entries, under one day."""
    listed = [*entries]
    money_parts = {name: sum((getattr(entry, name) for entry in listed), ZERO) for name in (*EARNED, "crew_hours")}
    hires, lost = sum(entry.hires for entry in listed), sum(entry.lost for entry in listed)
    return Entry(day=day, hires=hires, lost=lost, **money_parts)


def so_far(ledger: Ledger, card: RateCard, last: date, assumed: Assumptions) -> list[SoFar]:
    """Each kind on the card that is owned and was bought by `last`, up to that day; quotes in the card's currency."""
    crew_cost = hourly_rate_before_tax(card.rates) if assumed.crew_cost is None else assumed.crew_cost
    minor_units = int(card.rates.minor_units)
    back, found = ledger.repaired(), []
    for code, holding in card.holdings.items():
        if holding.owned and holding.bought_on <= last:
            item = Item("panels", code)
            entries = _entries(ledger, card, code, holding.bought_on, last)
            repaired = [(day, -pieces) for each, pieces, day in back if each.key == item.key and day <= last]
            found.append(
                SoFar(
                    kind=code,
                    bought_on=holding.bought_on,
                    last=last,
                    cost=money(holding.owned * holding.purchase_price, minor_units),
                    price=holding.purchase_price,
                    crew_cost=crew_cost,
                    minor_units=minor_units,
                    entries=tuple(_with_losses(entries, [*_lost(ledger, item, holding.bought_on, last), *repaired])),
                )
            )
    return found


def _entries(ledger: Ledger, card: RateCard, code: str, first: date, last: date) -> list[Entry]:
    """What each day with a hire brought."""
    amounts = LINE_AMOUNTS | SPREAD_CHARGES
    names = ("hires", *EARNED, "crew_minutes")
    minor_units = int(card.rates.minor_units)
    with ledger.database.querying() as connection:
        kind = kind_now(connection, card.holdings)
        query = (
            select(quotes.c.event_date, *(func.sum(amounts[name]).label(name) for name in names))
            .select_from(AGREED_LINES)
            .where(*agreed_from(connection, first, last, card.firm.currency), kind == code)
            .group_by(quotes.c.event_date)
            .order_by(quotes.c.event_date)
        )
        return [
            Entry(
                day=row.event_date,
                hires=int(row.hires),
                crew_hours=Decimal(int(row.crew_minutes)) / 60,
                lost=0,
                **{name: in_major_units(int(getattr(row, name)), minor_units) for name in EARNED},
            )
            for row in connection.execute(query)
        ]


def _lost(ledger: Ledger, item: Item, first: date, last: date) -> list[tuple[date, int]]:
    """The panels that did not come back fit for hire, by the first day on which they are missing."""
    query = select(losses.c.what, losses.c.code, losses.c.gone_from, losses.c.damaged + losses.c.lost)
    with ledger.database.querying() as connection:
        rows = connection.execute(query.where(losses.c.gone_from.between(first, last)))
        return [(day, int(pieces)) for what, code, day, pieces in rows if Item(what, code).key == item.key]


def _with_losses(entries: Sequence[Entry], lost: Iterable[tuple[date, int]]) -> list[Entry]:
    """Entries by day, with the panels lost on each."""
    by_day = {entry.day: entry for entry in entries}
    for day, pieces in lost:
        entry = by_day.get(day) or total(day, ())
        by_day[day] = entry._replace(lost=entry.lost + pieces)
    return [by_day[day] for day in sorted(by_day)]


STANDING = ("Kind", "Bought", "Cost", "Hires", "Left", "Still to earn", "Paid off")
PARTS = ("Kind", "Hire", "Labour", "Crew", "Losses", "Edging", "Subfloor", "Delivery")


def say_so_far(found: Sequence[SoFar], currency: str, local: Local) -> Iterable[str]:
    """Whether each kind has paid for itself, in two tables and what they leave out."""
    if not found:
        return
    yield f"So far, by the ledger, from each purchase to {local.day(found[0].last)}, before tax, {currency}:"
    yield from table(STANDING, [_standing(each, local) for each in found])
    yield from table(PARTS, [_parts(each, local) for each in found])
    yield "Left is hire and labour, less the crew and losses at cost. Edging, subfloor and"
    yield "delivery are not in it; waiver and tax are left out. A day to come is at the"
    yield "pace of the last twelve months."


def _standing(each: SoFar, local: Local) -> list[str]:
    bought_on, cost, to_earn = local.short_day(each.bought_on), local.amount(each.cost), local.amount(each.to_earn)
    if not each.total.hires:
        return [each.kind, bought_on, cost, "0", "-", to_earn, "no hires yet"]
    day = each.paid_off_on
    when = "never, at this pace" if day is None else local.short_day(day)
    left = local.amount(each.over_months(each.left))
    return [each.kind, bought_on, cost, local.number(Decimal(each.total.hires)), left, to_earn, when]


def _parts(each: SoFar, local: Local) -> list[str]:
    entry = each.total
    spent = each.over_months(each.crew_paid), each.over_months(each.losses)
    amounts = (entry.hire, entry.labour, *spent, entry.edging, entry.subfloor, entry.delivery)
    return [each.kind, *(local.amount(money(amount, each.minor_units)) for amount in amounts)]


def to_json(each: SoFar) -> dict[str, object]:
    """One kind as JSON: money and hours as text, days as text, and a row for each month."""
    day = each.paid_off_on
    return {
        "kind": each.kind,
        "bought_on": str(each.bought_on),
        "to": str(each.last),
        "cost": f"{each.cost:f}",
        **_entry_as_json(each, each.total),
        **{name: f"{each.over_months(getattr(each, name)):f}" for name in ("crew_paid", "losses", "left")},
        "still_to_earn": f"{each.to_earn:f}",
        "left_in_twelve_months": f"{each.left_in_a_year:f}",
        "paid_off": not each.to_earn,
        "paid_off_on": None if day is None else str(day),
        "months": [{"month": f"{entry.day:%Y-%m}"} | _entry_as_json(each, entry) for entry in each.months],
    }


def _entry_as_json(each: SoFar, entry: Entry) -> dict[str, object]:
    money_parts = {name: getattr(entry, name) for name in EARNED}
    money_parts |= {"crew_paid": each.crew_paid(entry), "losses": each.losses(entry), "left": each.left(entry)}
    amounts = {name: f"{value:f}" for name, value in money_parts.items()}
    return {"hires": entry.hires, "crew_hours": f"{entry.crew_hours:.2f}", "panels_lost": entry.lost, **amounts}
