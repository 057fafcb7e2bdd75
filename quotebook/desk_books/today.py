"""What waits for the owner on a day: as a list of things to do, each with the day by which."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby
from typing import NamedTuple

from quotebook.desk_books.book_data import AHEAD, BookData, QuoteRow
from quotebook.engine.stock import Item
from quotebook.ledger.states import OPEN

SOON = timedelta(days=7)
"""What expires or is due within this time is shown."""


class Task(NamedTuple):
    """One thing that waits."""

    what: str
    by: date
    quote_number: str
    client: str
    event: str
    event_date: date | None
    detail: str
    amount: Decimal | None = None


def tasks(data: BookData) -> list[Task]:
    """Everything that waits, the most urgent first."""
    found = [*_answers(data), *_expiring(data), *_money(data), *_jobs(data), *_too_much_wanted(data), *_told(data)]
    return sorted(found, key=lambda task: (task.by, task.what, task.quote_number))


def _told(data: BookData) -> Iterator[Task]:
    """Decisions, requests and files that could not be taken in, with the reason."""
    rows = {row.quote.quote_number: row for row in data.quotes}
    for what, outcome in data.told:
        if outcome.where in rows:
            yield _task(what, data.today, rows[outcome.where], outcome.text)
        else:
            yield Task(what, data.today, "", outcome.where, "", None, outcome.text)


def _task(what: str, by: date, row: QuoteRow, detail: str, amount: Decimal | None = None) -> Task:
    quote = row.quote
    return Task(what, by, quote.quote_number, quote.client, quote.event, quote.event_date, detail, amount)


def _answers(data: BookData) -> Iterator[Task]:
    """Answers to decide on: what came back of a quote that is neither agreed nor closed."""
    for row in data.quotes:
        if row.quote.state == "returned" and not row.closed and row.latest:
            said = "; ".join(row.latest.replies.values())
            several = f", {len(row.answers)} answers" if len(row.answers) > 1 else ""
            yield _task("Answer", data.today, row, f"{row.latest.verdict}{several}" + (f": {said}" if said else ""))


def _expiring(data: BookData) -> Iterator[Task]:
    for row in data.quotes:
        if row.quote.state in OPEN and not row.closed and data.today <= row.valid_until <= data.today + SOON:
            yield _task("Expires", row.valid_until, row, "the last day on which the quote stands", row.account.total)


def _money(data: BookData) -> Iterator[Task]:
    """Deposits and balances that are due soon or overdue, and what is to be given back."""
    for row in data.quotes:
        for due in row.account.dues:
            if due.due_on <= data.today + SOON:
                state = "overdue" if due.due_on < data.today else "due"
                yield _task(due.towards.capitalize(), due.due_on, row, state, due.amount)
        if row.account.to_give_back:
            yield _task("Give back", data.today, row, f"paid beyond what is owed: {row.quote.state}",
                        row.account.to_give_back)  # fmt: skip


def _jobs(data: BookData) -> Iterator[Task]:
    """Floors that go out or come back within AHEAD, or should have."""
    for job in data.jobs:
        quote = job.quote
        last_day = quote.event_date + timedelta(quote.days - 1)
        panels = ", ".join(f"{line.panels} {line.panel}" for line in quote.lines)
        facts = quote.quote_number, quote.client, quote.event, quote.event_date
        if not job.delivered_at:
            yield Task("Deliver", quote.event_date, *facts, panels)
        elif not job.counted_back_at and last_day <= data.today + AHEAD:
            yield Task("Count back", last_day, *facts, panels)


def _too_much_wanted(data: BookData) -> Iterator[Task]:
    """Open quotes that together want more of a kind than is free on days that they would all hold it."""
    wanted: dict[str, dict[date, list[QuoteRow]]] = defaultdict(lambda: defaultdict(list))
    for row in data.quotes:
        if row.would_hold:
            first, last = row.would_hold
            for panel in row.quote.panels:
                for day in range(max(first, data.today).toordinal(), last.toordinal() + 1):
                    wanted[panel][date.fromordinal(day)].append(row)
    for panel, by_day in wanted.items():
        short = {day: rows for day, rows in sorted(by_day.items()) if _lacking(data, panel, day, rows) > 0}
        for days in _in_a_row(short):
            rows = {row.quote.quote_number: row for day in days for row in short[day]}
            worst = max(days, key=lambda day: _lacking(data, panel, day, short[day]))
            count = sum(row.quote.panels[panel] for row in short[worst])
            free = max(0, _free_on(data, panel, worst))
            first_row = min(rows.values(), key=lambda row: (row.quote.event_date, row.quote.quote_number))
            detail = f"{', '.join(sorted(rows))}: {count} {panel} wanted, {free} free"
            yield _task("Too much wanted", first_row.quote.event_date, first_row, detail)


def _lacking(data: BookData, panel: str, day: date, rows: Sequence[QuoteRow]) -> int:
    """How many more of a kind quotes want than are free on a day."""
    return sum(row.quote.panels[panel] for row in rows) - _free_on(data, panel, day)


def _in_a_row(days: Iterable[date]) -> Iterator[list[date]]:
    """Days, which are in order, in runs of those that follow one another."""
    for _, run in groupby(enumerate(days), lambda each: each[1].toordinal() - each[0]):
        yield [day for _, day in run]


def _free_on(data: BookData, panel: str, day: date) -> int:
    """How many of a kind are free on a day; beyond the calendar, all that are owned."""
    wanted = Item("panels", panel)
    item = next((each for each in data.owned if each.key == wanted.key), wanted)
    by_day, place = data.free.get(item, []), (day - data.today).days
    return by_day[place] if 0 <= place < len(by_day) else data.owned.get(item, 0)
