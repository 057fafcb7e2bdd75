"""A crew's day: the jobs that it sets up and strikes, one after another, and the clock."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cached_property

from quotebook.engine.figures import Figures
from quotebook.engine.laid_floors import Floor, floors
from quotebook.engine.loading import Load, carts, edging, trips
from quotebook.engine.model import Rates, Request
from quotebook.engine.money import ZERO, round_up
from quotebook.engine.price import price

SET_UP, STRIKE, LATE = "set_up", "strike", "late"

SPEEDS = {"ft": Decimal(30), "m": Decimal(45)}
"""Miles or km an hour of a loaded vehicle, by the card's unit of length: assumed (common practice, no source)."""

STARTS = {SET_UP: time(8), STRIKE: time(17), LATE: time(22)}
"""When a crew leaves for its first set-up, strike and strike after hours, unless somebody says otherwise."""


@dataclass(frozen=True)
class Job:
    """One quote, priced from its own entries and rates. It has a date and days."""

    quote_number: str
    revision: int
    rates: Rates
    request: Request
    known_figures: Figures | None = None
    """What it comes to, where that is known already: a quote of other rules goes by its own formulas."""
    language: str = ""
    """In which its client reads, by its code; empty for the card's."""

    @cached_property
    def figures(self) -> Figures:
        return self.known_figures or price(self.rates, self.request)

    @cached_property
    def floors(self) -> tuple[Floor, ...]:
        return floors(self.rates, self.request, self.figures)

    @cached_property
    def loads(self) -> tuple[Load, ...]:
        """What goes on each trip. Raises loading.TooHeavy for a cart, or edging, that the vehicle may not carry."""
        of_job = self.rates, self.request, self.figures
        vehicle = self.rates.tools_weight, self.rates.payload, self.rates.cart_places
        return trips(carts(*of_job), edging(*of_job), *vehicle)

    @property
    def first_day(self) -> date:
        """The day of set-up. Raises ValueError for a request without a date."""
        if self.request.event_date is None:
            raise ValueError(f"{self.quote_number} has no date")
        return self.request.event_date

    @property
    def last_day(self) -> date:
        return self.first_day + timedelta(int(self.figures.days_counted) - 1)

    @property
    def lifting_hours(self) -> Decimal:
        """Hours by the clock of lifting in one day: set-up and strike, or the longer where their days differ."""
        hours = [
            minutes / self.rates.crew / 60 for minutes in (self.figures.setup_minutes, self.figures.strike_minutes)
        ]
        return sum(hours, ZERO) if self.first_day == self.last_day else max(hours)

    def minutes(self, what: str) -> Decimal:
        """Minutes by the clock of SET_UP or STRIKE, for the crew that the quote counts on."""
        person_minutes = self.figures.setup_minutes if what == SET_UP else self.figures.strike_minutes
        return round_up(person_minutes / self.rates.crew)


@dataclass(frozen=True)
class Visit:
    """The crew and the vehicle at one job. Moments are by the firm's own clock."""

    job: Job
    what: str
    """SET_UP or STRIKE."""
    leave: datetime
    """When it leaves the yard."""
    arrive: datetime
    done: datetime
    back: datetime


def visits(
    jobs: Sequence[Job],
    day: date,
    speed: Decimal,
    starts: Mapping[str, time] = STARTS,
    access_from: Mapping[str, time] | None = None,
) -> tuple[Visit, ...]:
    """One crew's day with one vehicle: set-ups in the order given, then strikes, those after hours last.

    A job is set up on its first day and struck on its last. The vehicle goes out from the yard to each
    and back; a job of several trips takes the way as often. `speed` is in miles or km an hour.
    `access_from` says by quote number before when nobody can get in to set up.
    """
    planned = [(SET_UP, SET_UP, job) for job in jobs if job.first_day == day]
    strikes = [(LATE if job.request.after_hours else STRIKE, STRIKE, job) for job in jobs if job.last_day == day]
    planned += sorted(strikes, key=lambda strike: strike[0] == LATE)
    return tuple(_one_after_another(planned, day, speed, starts, access_from or {}))


def _one_after_another(
    planned: Sequence[tuple[str, str, Job]],
    day: date,
    speed: Decimal,
    starts: Mapping[str, time],
    access_from: Mapping[str, time],
) -> Iterator[Visit]:
    free = datetime.combine(day, time())
    for start, what, job in planned:
        drive = timedelta(minutes=int(round_up(job.figures.miles_counted * 60 / speed)))
        leave = max(free, datetime.combine(day, starts[start]))
        if what == SET_UP and job.quote_number in access_from:
            leave = max(leave, datetime.combine(day, access_from[job.quote_number]) - drive)
        arrive = leave + drive
        done = arrive + timedelta(minutes=int(job.minutes(what))) + 2 * drive * max(0, len(job.loads) - 1)
        free = done + drive
        yield Visit(job, what, leave, arrive, done, free)
