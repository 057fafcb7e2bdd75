"""The visits of a day with the rate card and the words for them, before any sheet is written."""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from functools import cache
from importlib.resources import files

from quotebook.contract.local import locale_of, say_day
from quotebook.contract.values import joined
from quotebook.contract.words import crew_sentences, words_in
from quotebook.engine.crew import crew_cautions, long_day
from quotebook.engine.model import SURFACES, RateCard
from quotebook.engine.visits import Job, Visit
from quotebook.quoting.request_headings import headings_in


@cache
def day_words(language: str) -> dict[str, dict[str, str]]:
    """The sections of `templates/day.LANGUAGE.toml`."""
    with (files("quotebook.templates") / f"day.{language}.toml").open("rb") as file:
        sections: dict[str, dict[str, str]] = tomllib.load(file)
    return sections


WITH_SECONDS = re.compile(r"^(\d{1,2}:\d\d):00$", re.ASCII)
"""A time of day as a spreadsheet keeps it."""
BESIDE = ("phone", "event_start", "access_from", "access_until")
"""What a request says for the crew that is not on its quote."""


class DayDraft:
    """The visits of a day with the card and the words for them, ready to be written sheet by sheet."""

    def __init__(
        self, card: RateCard, day: date, visits: Sequence[Visit], speed: Decimal, asked: Mapping[str, Mapping[str, str]]
    ) -> None:
        self.card, self.day, self.visits, self.speed, self.asked = card, day, visits, speed, asked
        words = words_in(card.firm.language)
        self.words, self.units = day_words(card.firm.language), words["units"][card.firm.length_unit]
        self.surfaces = dict(zip(SURFACES, words["words"]["surfaces"], strict=True))
        self.jobs = list({visit.job.quote_number: visit.job for visit in visits}.values())

    def label(self, name: str) -> str:
        """The label of a figure, in the firm's language and units."""
        return self.words["labels"][name].format(**self.units)

    def asked_beside(self, job: Job) -> Iterator[tuple[str, str]]:
        """What the request for a job says that is not on its quote, where it says it: the heading and the text."""
        texts, headings = self.asked.get(job.quote_number, {}), headings_in(self.card.firm.language)
        return ((headings[name], WITH_SECONDS.sub(r"\1", texts[name])) for name in BESIDE if texts.get(name))

    def text(self, name: str, **values: object) -> str:
        """A sentence with its values; numbers are written as people write them."""
        written = {key: joined(value) if isinstance(value, Decimal) else value for key, value in values.items()}
        return self.words["text"][name].format(**self.units | {"unit": self.units["length"]} | written)

    def day_in_words(self, day: date) -> str:
        """A day with the name of its month, in the firm's language and as its country writes it."""
        return say_day(day, locale_of(self.card.firm.language, self.card.firm.region))

    def item(self, what: str, code: str = "") -> str:
        """The words for a thing that goes out, such as edging for a kind of panel."""
        return self.words["items"][what].format(code=code)

    def cautions(self, job: Job) -> Iterator[tuple[str, str]]:
        """The cautions for a job as sentences, most dangerous first, each with its source."""
        return crew_sentences(crew_cautions(self.card, job), self.card.firm)

    def day_caution(self) -> Iterator[tuple[str, str]]:
        """The caution about a day that is too long, where it is."""
        caution = long_day(self.visits, self.card.day_hours)
        return crew_sentences([caution] if caution else [], self.card.firm)

    @property
    def defer(self) -> str:
        """The sentence that says what the cautions are, and who decides."""
        sentence: str = words_in(self.card.firm.language)["crew_cautions"]["defer"]
        return sentence

    @property
    def defers(self) -> str:
        """Who decides, for the foot of every page."""
        sentence: str = words_in(self.card.firm.language)["text"]["defers"]
        return sentence


def visit_times(visit: Visit, day: date) -> dict[str, str]:
    """The times of a visit by the clock; a time on a later day adds the number of days (`01:30 +1`)."""
    moments = {"leave": visit.leave, "arrive": visit.arrive, "done": visit.done, "back": visit.back}
    later = {name: (moment.date() - day).days for name, moment in moments.items()}
    return {name: f"{moment:%H:%M}" + (f" +{later[name]}" if later[name] else "") for name, moment in moments.items()}
