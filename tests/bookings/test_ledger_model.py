"""Everything that can happen to a ledger, in any order, held against `model`, which counts piece by piece.

Workbooks are stood in for by files that hold the figures, so that a run takes seconds; slips, chains,
copies put back and rebuilding are the program's own. A crash is a process that ended after it had
recorded an event and before it wrote the slip.
"""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import copy
import pickle
import shutil
import tempfile
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from ledger_fixtures import CARD, contents, postgresql, quote
from model import Floor, Model, Quote
from sqlalchemy import create_engine, inspect, make_url, text
from sqlalchemy.pool import NullPool

from quotebook.bookings import archive, corrections, decisions, rebuilding
from quotebook.bookings.availability import free_by_day, must_know_kinds
from quotebook.desk import Desk, init
from quotebook.engine.stock import Item, held_days, owned
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.database import ledger_url
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Issued, Loss, Returned

FIRST = date(2027, 6, 1)
DAYS = 24
KINDS = ("4x4", "2x3")
OWNED = (120, 300)
RECORD = quote()
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None


FLOORS = st.builds(
    lambda kind, share, day, days: Floor(
        kind, share * OWNED[kind] // 12, *held_days(FIRST + timedelta(day), days, 1)
    ),
    st.integers(0, 1), st.integers(1, 12), st.integers(2, DAYS - 8), st.integers(1, 3),
)  # fmt: skip
CRASHES = st.sampled_from(("", "", "before", "after"))


def record_of(number, revision, kind_code, floor):
    """The figures of a quote for one floor of panels."""
    parts = {"slot_pieces": 0, "tongue_pieces": 0, "corners": 0, "carts": 0}
    line = replace(RECORD.lines[0], panel=kind_code, panels=floor.pieces, **parts)
    when = {"event_date": floor.held_from + timedelta(1), "days": (floor.held_to - floor.held_from).days - 1}
    held = {"held_from": floor.held_from, "held_to": floor.held_to}
    return replace(RECORD, quote_number=number, revision=revision, lines=(line,), **when, **held)


def issued_of_file(desk, path, *_):
    """The issue of a file that is no workbook, but a record."""
    content = path.read_bytes()
    return Issued(at=archive.now(), quote=pickle.loads(content), sha256=archive.digest_of(content))


class AnyLedger(RuleBasedStateMachine):
    """One desk with its ledger, and the model."""

    url = None
    """The address of the ledger, if it is not the desk's own file."""

    @initialize()
    def begin(self):
        self.folder = Path(tempfile.mkdtemp(dir=MEMORY))
        self.desk = init(self.folder / "desk")
        self.card = CARD
        self.model = Model(list(OWNED))
        self.codes, self.answers = list(KINDS), {}
        self.moment = self.copies = self.files = self.names = self.issued_numbers = 0
        self.unsaid = self.opened = None
        self.patches = pytest.MonkeyPatch()
        self.patches.setattr(Desk, "card", lambda desk: self.card)
        self.patches.setattr(rebuilding, "record_of_file", lambda desk, path, firm: pickle.loads(path.read_bytes()))
        self.patches.setattr(archive, "issued_of_file", issued_of_file)
        for module in (archive, corrections, decisions):
            self.patches.setattr(module, "now", self.now)
        if self.url:
            self.patches.setenv("QUOTEBOOK_LEDGER", self.url())
        else:
            self.patches.delenv("QUOTEBOOK_LEDGER", raising=False)

    def teardown(self):
        if hasattr(self, "folder"):
            self.patches.undo()
            shutil.rmtree(self.folder)

    @property
    def ledger(self):
        """The ledger, opened and looked at as a command does it, again whenever its file is another."""
        self.opened = self.opened or archive.open_ledger(self.desk)
        return self.opened

    def now(self):
        """A moment by a clock that somebody sets as he likes: no two events have the same."""
        self.moment += 1
        return f"{2020 + self.moment * 7 % 11}-05-04T10:00:00.{self.moment:06}+00:00"

    @contextmanager
    def recording(self, crash=False):
        """What is recorded inside is said to be done; or the process ends before its slip is written."""
        before = copy.deepcopy(self.model)
        with pytest.MonkeyPatch.context() as patches:
            if crash:
                patches.setattr(archive, "keep_slips", lambda desk, ledger: None)
            yield self.ledger
        self.unsaid = (self.unsaid or before) if crash else None

    def done(self, event, allowed, owned_=None, crash=False):
        """Record an event; whether it was recorded has to be as the model says."""
        try:
            with self.recording(crash) as ledger:
                archive.record_event(self.desk, ledger, event, owned_)
        except Misuse:
            assert not allowed, event
            return False
        assert allowed, event
        return True

    def numbers(self, condition=lambda quote: True):
        return [number for number, pile in self.model.quotes.items() if condition(pile[-1])]

    def some(self, data, condition=lambda quote: True):
        return data.draw(st.sampled_from(self.numbers(condition)))

    # What happens to quotes

    @rule(floor=FLOORS, crash=CRASHES)
    def issue(self, floor, crash):
        self.issued_numbers += 1  # one that was reserved before a crash is not used again
        number = f"Q{self.issued_numbers:04}"
        if self.write(number, 1, floor, crash):
            self.model.quotes[number] = [Quote((floor,))]

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), floor=FLOORS, crash=CRASHES)
    def reissue(self, data, floor, crash):
        number = self.some(data)
        if self.write(number, len(self.model.quote(number).offers) + 1, floor, crash):
            self.model.offer(number, floor)

    def write(self, number, revision, floor, crash):
        """Write a workbook and record it; whether it is recorded, which it is not by a process that ends before."""
        path = self.desk.issued_path(number, revision)
        path.write_bytes(pickle.dumps(record_of(number, revision, self.codes[floor.kind], floor)))
        if crash != "before":
            with self.recording(crash == "after") as ledger:
                archive.record_issued(self.desk, ledger, path, self.card)
        return crash != "before"

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), share=st.integers(1, 12))
    def come_back(self, data, share):
        """A file comes back of any revision, with another number of panels in it than was offered."""
        number = self.some(data)
        offers = self.model.quote(number).offers
        revision = data.draw(st.integers(1, len(offers)))
        self.take_in(
            number, revision, replace(offers[revision - 1], pieces=share * OWNED[offers[revision - 1].kind] // 12)
        )

    def take_in(self, number, revision, floor):
        figures = pickle.loads(self.desk.issued_path(number, revision).read_bytes())
        self.files += 1
        line = replace(figures.lines[0], panels=floor.pieces)
        path = self.folder / "answer"
        path.write_bytes(pickle.dumps(replace(figures, event=f"answer {self.files}", lines=(line,))))
        digest = archive.keep_returned(self.desk, path)
        of_quote = {"quote_number": number, "revision": revision, "sha256": digest}
        self.done(Returned(at=self.now(), verdict="agrees", findings=0, **of_quote), True)
        self.model.come_back(number, revision)
        self.answers.setdefault(number, []).append((revision, digest, floor))
        return self.answers[number][-1]

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), crash=st.booleans(), anew=st.booleans())
    def agree(self, data, crash, anew):
        """A file is agreed: of the last revision as it was offered, or any that came back, perhaps once more."""
        number = self.some(data)
        was = self.model.quote(number)
        known = [each for each in self.answers.get(number, ()) if each[0] <= len(was.offers)]
        if anew or not known:
            revision, digest, floor = self.take_in(number, len(was.offers), was.offers[-1])
            was = self.model.quote(number)
        else:
            revision, digest, floor = data.draw(st.sampled_from(known))
        figures = pickle.loads(archive.returned_path(self.desk, digest).read_bytes())
        again = bool(was.holds) and (was.agreed, was.file) == (revision, digest)
        allowed = again or (self.model.fits(number, floor) and not was.delivered)
        event = Agreed(at=self.now(), quote=figures, sha256=digest)
        if self.done(event, allowed, owned(self.card), crash) and not again:
            of_agreement = {"agreed": revision, "file": digest, "floor": floor}
            self.model.decide(number, revision, "agreed", **of_agreement, cancelled=False, counted=False, lost=0)

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), reason=st.sampled_from(("too dear", "no answer")), crash=st.booleans())
    def decline(self, data, reason, crash):
        """The last revision is declined: an earlier one that is agreed stays so, and what is agreed is not declined."""
        number = self.some(data)
        was = self.model.quote(number)
        last = len(was.offers)
        allowed = was.word(last) in ("issued", "returned", "declined") and not (was.holds and was.agreed >= last)
        try:
            with self.recording(crash) as ledger:
                new = decisions.decline(self.desk, ledger, number, reason)
        except Misuse:
            assert not allowed
            return
        assert allowed
        assert new == ((was.word(last), was.reason) != ("declined", reason))
        if new:
            self.model.decide(number, last, "declined", reason=reason)

    def of_quote(self, number):
        return {"at": self.now(), "quote_number": number, "revision": self.model.quote(number).agreed}

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), crash=st.booleans())
    def cancel(self, data, crash):
        number = self.some(data, lambda quote: quote.holds)
        was = self.model.quote(number)
        if self.done(Cancelled(**self.of_quote(number)), not was.delivered, crash=crash):
            self.model.decide(number, was.agreed, "cancelled", cancelled=True)

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), crash=st.booleans())
    def deliver(self, data, crash):
        number = self.some(data, lambda quote: quote.holds)
        was = self.model.quote(number)
        self.done(Delivered(**self.of_quote(number)), True, crash=crash)
        if not was.delivered:
            self.model.decide(number, was.agreed, "delivered", delivered=True)

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), lost=st.integers(0, 60), crash=st.booleans())
    def count_back(self, data, lost, crash):
        """Also a second time, which takes the place of the first; and more than went out, which is refused."""
        number = self.some(data, lambda quote: quote.holds)
        was = self.model.quote(number)
        losses = (Loss(Item("panels", self.codes[was.floor.kind]), 0, lost),) if lost else ()
        event = CountedBack(**self.of_quote(number), losses=losses)
        if self.done(event, was.delivered and lost <= was.floor.pieces, crash=crash) and (
            not was.counted or lost != was.lost
        ):
            self.model.decide(number, was.agreed, "counted back", counted=True, lost=lost)

    @precondition(lambda self: self.numbers())
    @rule(data=st.data(), crash=st.booleans())
    def undo(self, data, crash):
        number = self.some(data)
        before = self.model.quotes[number]
        was, now = before[-1], before[-2] if len(before) > 1 else None
        held_too = now and was.holds and (was.agreed, was.file) == (now.agreed, now.file)
        allowed = now and (not now.holds or held_too or self.model.fits(number, now.floor))
        try:
            with self.recording(crash) as ledger:
                corrections.undo(self.desk, ledger, self.card, number, "a slip of the pen")
        except Misuse:
            assert not allowed
        else:
            assert allowed
            del self.model.quotes[number][-1]

    # What happens to the stock

    @rule(kind=st.integers(0, 1), day=st.integers(0, DAYS), pieces=st.integers(1, 20), crash=st.booleans())
    def repaired(self, kind, day, pieces, crash):
        item, when = Item("panels", self.codes[kind]), FIRST + timedelta(day)
        days = [when + timedelta(day) for day in range(2 * DAYS)]
        allowed = [day for day in days if pieces <= self.model.missing(kind, day)]
        try:
            with self.recording(crash) as ledger:
                corrections.repaired(self.desk, ledger, self.card, item, pieces, when)
        except Misuse:
            assert not allowed
            return
        assert allowed
        self.model.changes.append((kind, allowed[0], "repaired", pieces))

    @rule(kind=st.integers(0, 1), day=st.integers(0, DAYS), less=st.integers(-5, 40), crash=st.booleans())
    def recount(self, kind, day, less, crash):
        item, when = Item("panels", self.codes[kind]), FIRST + timedelta(day)
        self.patches.setattr(corrections, "date", After)
        with self.recording(crash) as ledger:
            corrections.recount(self.desk, ledger, self.card, item, OWNED[kind] - less, when)
        self.model.changes.append((kind, when, "counted", less))

    @rule(kind=st.integers(0, 1))
    def other_capitals(self, kind):
        self.call(kind, self.codes[kind].swapcase())

    @rule(kind=st.integers(0, 1), crash=st.booleans())
    def rename(self, kind, crash):
        """A new code on the card stops every promise while anything is held under the old one, until it is said."""
        self.names += 1
        old, new = self.codes[kind], f"Kind-{self.names}"
        self.call(kind, new)
        if any(pile[-1].holds and pile[-1].floor.kind == kind for pile in self.model.quotes.values()):
            with pytest.raises(Misuse, match=f"(?i)quotebook rename {old} NEW"):
                must_know_kinds(self.ledger, self.card, FIRST)
        self.say_renamed(kind, old, new, crash)

    def say_renamed(self, kind, old, new, crash=False):
        """Say that a kind is called otherwise now, if anything was ever recorded of it."""
        offered = any(floor.kind == kind for pile in self.model.quotes.values() for floor in pile[-1].offers)
        if offered or any(each == kind for each, *_ in self.model.changes):
            with self.recording(crash) as ledger:
                corrections.rename(self.desk, ledger, self.card, old, new)
            self.model.renames.append((kind, old, new))

    def call(self, kind, code):
        """Call a kind otherwise on the card."""
        old, self.codes[kind] = self.codes[kind], code
        holdings = {(code if name == old else name): holding for name, holding in self.card.holdings.items()}
        self.card = replace(self.card, holdings=holdings)

    # What happens to the ledger's file

    @rule()
    def copy_put_back(self):
        """The copy that was made last is put back: nothing is promised from it until it is brought up to date."""
        if self.url:
            return
        path, saved = self.desk.folder / "ledger.sqlite", self.folder / "copy.sqlite"
        if not saved.exists() or not path.exists():
            if path.exists():
                archive.keep_slips(self.desk, self.ledger)
                self.unsaid = None
                shutil.copyfile(path, saved)
            return
        saved_events = Ledger(f"sqlite:///{saved}", archive.desk_name(self.desk)).last_line()[0]
        behind = archive.slip_path(self.desk, saved_events + 1).exists()
        unsaid_renames = []
        if self.unsaid:  # what was recorded and never said to be: nobody knows of it
            unsaid_renames = self.model.renames[len(self.unsaid.renames) :]
            self.model, self.unsaid = self.unsaid, None
        shutil.copyfile(saved, path)
        self.opened = None
        if behind:
            with pytest.raises(Misuse, match="quotebook rebuild"):
                archive.open_ledger(self.desk)
        rebuilding.rebuild(self.desk, Ledger(ledger_url(self.desk.folder), archive.desk_name(self.desk)))
        saved.unlink()
        # The card has the new codes, and the owner says so again.
        for kind, old in {kind: old for kind, old, _ in reversed(unsaid_renames)}.items():
            self.say_renamed(kind, old, self.codes[kind])

    @rule()
    def rebuilt(self):
        """Made again of slips and files, in another file: row for row the same."""
        ledger = self.ledger
        archive.keep_slips(self.desk, ledger)
        self.unsaid = None
        self.copies += 1
        again = Ledger(f"sqlite:///{self.folder / f'again-{self.copies}.sqlite'}", archive.desk_name(self.desk))
        rebuilding.rebuild(self.desk, again)
        assert contents(again) == contents(ledger)

    @invariant()
    def what_is_free_is_what_the_model_counts(self):
        if not hasattr(self, "desk"):
            return
        ledger, last = self.ledger, FIRST + timedelta(DAYS + 4)
        by_day = free_by_day(ledger, self.card, FIRST, last)
        for kind, code in enumerate(self.codes):
            free = [self.model.free(kind, FIRST + timedelta(day)) for day in range(DAYS + 5)]
            assert by_day[Item("panels", code)] == free, code
        listed = [
            (row.quote_number, row.revision, row.state, row.because, sum(row.panels.values()))
            for row in ledger.listed()
        ]
        assert listed == [
            each for number, pile in sorted(self.model.quotes.items()) for each in rows_of(number, pile[-1])
        ]


def rows_of(number, quote):
    """The rows of a list that tell of a quote."""
    for revision in quote.shown():
        agreed, word = quote.holds and revision == quote.agreed, quote.word(revision)
        floor = quote.floor if agreed else quote.offers[revision - 1]
        yield number, revision, word, quote.reason if word == "declined" else "", floor.pieces


class After(date):
    @classmethod
    def today(cls):
        return date(2027, 12, 31)


@pytest.mark.parametrize("runs", [12, pytest.param(5000, marks=pytest.mark.slow)])
def test_whatever_happens_the_ledger_is_right(runs):
    run_state_machine_as_test(AnyLedger, settings=settings(max_examples=runs, stateful_step_count=20, deadline=None))


@pytest.mark.parametrize("runs", [3, pytest.param(5000, marks=pytest.mark.slow)])
def test_on_a_server_too(postgresql, runs):
    """One ledger at a time in the schema, which is emptied for each run."""

    def emptied():
        engine = create_engine(make_url(postgresql).set(drivername="postgresql+psycopg"), poolclass=NullPool)
        with engine.begin() as connection:
            for table in inspect(connection).get_table_names():
                connection.execute(text(f"DROP TABLE {table} CASCADE"))
        return postgresql

    machine = type("AnyLedgerOnAServer", (AnyLedger,), {"url": staticmethod(emptied)})
    run_state_machine_as_test(machine, settings=settings(max_examples=runs, stateful_step_count=20, deadline=None))
