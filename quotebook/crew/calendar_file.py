"""Makes a calendar file (RFC 5545) of the visits of a day."""

from collections.abc import Sequence
from datetime import UTC, datetime
from uuid import NAMESPACE_OID, uuid5

from icalendar import Calendar, Event

from quotebook import __version__
from quotebook.engine.model import Firm
from quotebook.engine.money import plain
from quotebook.engine.visits import SET_UP, Visit

SUMMARIES = {True: "Set up", False: "Strike"}
"""The first words of an event, by whether the visit is the set-up."""


def calendar_of(firm: Firm, visits: Sequence[Visit], now: datetime | None = None) -> bytes:
    """The bytes of the file: an event for each visit, from arrival until it is done, in local time without a zone.

    A visit always has the same UID, so a later file changes the event in a calendar instead of adding another one.
    """
    calendar = Calendar()
    calendar.add("prodid", f"-//{firm.firm}//quotebook {__version__}//EN")
    calendar.add("version", "2.0")
    for visit in visits:
        calendar.add_component(_event(firm, visit, now or datetime.now(UTC)))
    content: bytes = calendar.to_ical()
    return content


def _event(firm: Firm, visit: Visit, now: datetime) -> Event:
    """One visit as an event."""
    job, request = visit.job, visit.job.request
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_OID, f"{firm.firm} {job.quote_number} {visit.what}")))
    event.add("dtstamp", now)
    event.add("sequence", job.revision - 1)
    event.add("dtstart", visit.arrive)
    event.add("dtend", visit.done)
    event.add(
        "summary", f"{SUMMARIES[visit.what == SET_UP]}: {request.client or job.quote_number} ({job.quote_number})"
    )
    if request.venue:
        event.add("location", request.venue)
    figures = {"panels": plain(job.figures.panels), "carts": plain(job.figures.carts)}
    loads = (
        f"Panels {figures['panels']}, carts {figures['carts']}, trips {len(job.loads)}, people {plain(job.rates.crew)}."
    )
    times = f"Leave the yard {visit.leave:%H:%M}, back {visit.back:%H:%M}."
    event.add("description", f"{request.event}\n{loads} {times}".strip())
    return event
