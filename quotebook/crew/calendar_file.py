"""The visits of a day as a calendar file (RFC 5545)."""

from collections.abc import Sequence
from datetime import UTC, datetime
from uuid import NAMESPACE_OID, uuid5

from icalendar import Calendar, Event

from quotebook import __version__
from quotebook.engine.model import Firm
from quotebook.engine.money import plain
from quotebook.engine.visits import SET_UP, Visit

WHAT = {True: "Set up", False: "Strike"}


def calendar_of(firm: Firm, visits: Sequence[Visit], now: datetime | None = None) -> bytes:
    """The bytes of the file: an event for each visit, from arriving to done, by the clock wherever it is read.

    A visit keeps its UID, so that a later file changes it in a calendar instead of adding it again.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//{firm.firm}//quotebook {__version__}//EN")
    calendar.add("version", "2.0")
    for visit in visits:
        calendar.add_component(_event(firm, visit, now or datetime.now(UTC)))
    return calendar.to_ical()


def _event(firm: Firm, visit: Visit, now: datetime) -> Event:
    job, request = visit.job, visit.job.request
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_OID, f"{firm.firm} {job.quote_number} {visit.what}")))
    event.add("dtstamp", now)
    event.add("sequence", job.revision - 1)
    event.add("dtstart", visit.arrive)
    event.add("dtend", visit.done)
    event.add("summary", f"{WHAT[visit.what == SET_UP]}: {request.client or job.quote_number} ({job.quote_number})")
    if request.venue:
        event.add("location", request.venue)
    figures = job.figures
    event.add(
        "description",
        (
            f"{request.event}\nPanels {plain(figures.panels)}, carts {plain(figures.carts)}, trips {len(job.loads)}, "
            f"people {plain(job.rates.crew)}. Leave the yard {visit.leave:%H:%M}, back {visit.back:%H:%M}."
        ).strip(),
    )
    return event
