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
from model import Model, Quote
from sqlalchemy import create_engine, inspect, make_url, text
from sqlalchemy.pool import NullPool

from quotebook.bookings import archive, corrections, rebuilding
from quotebook.bookings.availability import free_by_day, must_know_kinds
from quotebook.desk import Desk, init
from quotebook.engine.stock import Item, held_days, owned
from quotebook.errors import Misuse
from quotebook.ledger import Ledger
from quotebook.ledger.database import ledger_url
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Loss, Returned
from quotebook.ledger.recording import NotEnough

FIRST = date(2027, 6, 1)
DAYS = 24
KINDS = ("4x4", "2x3")
OWNED = (120, 300)
RECORD = quote()
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None


def record_of(number, revision, kind_code, pieces, day, days):
    """The figures of a quote for one floor of so many panels."""
    held_from, held_to = held_days(day, days, 1)
    line = replace(RECORD.lines[0], panel=kind_code, panels=pieces, slot_pieces=0, tongue_pieces=0, corners=0, carts=0)
    when = {"event_date": day, "days": days, "held_from": held_from, "held_to": held_to}
    return replace(RECORD, quote_number=number, revision=revision, lines=(line,), **when)


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
        self.codes, self.moment, self.copies, self.answers, self.names = list(KINDS), 0, 0, 0, 0
        self.unsaid = self.opened = None
        self.patches = pytest.MonkeyPatch()
        self.patches.setattr(Desk, "card", lambda desk: self.card)
        for module in (archive, rebuilding):
            self.patches.setattr(module, "record_of_file", lambda desk, path, firm, *_: pickle.loads(path.read_bytes()))
        for module in (archive, corrections):
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

    def done(self, event, allowed, owned_=None, crash=False):
        """Record an event; whether it was recorded has to be as the model says."""
        ledger, before = self.ledger, copy.deepcopy(self.model)
        try:
            ledger.record(event, owned_)
        except Misuse:
            assert not allowed, event
            return False
        assert allowed, event
        if crash:
            self.unsaid = self.unsaid or before
        else:
            archive.keep_slips(self.desk, ledger)
            self.unsaid = None
        return True

    def numbers(self, condition=lambda quote: True):
        return [number for number, pile in self.model.quotes.items() if condition(pile[-1])]

    def some(self, data, condition=lambda quote: True):
        return data.draw(st.sampled_from(self.numbers(condition)))

    def write(self, figures):
        path = self.desk.issued_path(figures.quote_number, figures.revision)
        path.write_bytes(pickle.dumps(figures))
        return path

    # What happens to quotes

    @rule(kind=st.integers(0, 1), share=st.integers(1, 12), day=st.integers(2, DAYS - 8), days=st.integers(1, 3))
    def issue(self, kind, share, day, days):
        number = f"Q{len(self.model.quotes) + 1:04}"
        pieces = share * OWNED[kind] // 12
        figures = record_of(number, 1, self.codes[kind], pieces, FIRST + timedelta(day), days)
        archive.record_issued(self.desk, self.ledger, self.write(figures), self.card)
        self.unsaid = None
        self.model.quotes[number] = [Quote(kind, pieces, figures.held_from, figures.held_to)]

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data())
    def reissue(self, data):
        number = self.some(data)
        was = self.model.quote(number)
        figures = self.figures(number, was.revisions + 1)
        archive.record_issued(self.desk, self.ledger, self.write(figures), self.card)
        self.unsaid = None
        self.model.amend(number, revisions=was.revisions + 1)

    def figures(self, number, revision):
        was = self.model.quote(number)
        days = (was.held_to - was.held_from).days - 1
        return record_of(number, revision, self.codes[was.kind], was.pieces, was.held_from + timedelta(1), days)

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), crash=st.booleans())
    def agree(self, data, crash):
        number = self.some(data)
        was = self.model.quote(number)
        self.answers += 1
        figures = replace(self.issued(number, was.revisions), event=f"answer {self.answers}")
        digest = archive.keep_returned(self.desk, self.answer(figures))
        of_quote = {"quote_number": number, "revision": was.revisions, "sha256": digest}
        self.done(Returned(at=self.now(), verdict="agrees", findings=0, **of_quote), True)
        event = Agreed(at=self.now(), quote=figures, sha256=digest)
        free_ = self.model.fits(number)
        if self.done(event, free_ and not was.delivered, owned(self.card), crash):
            self.model.decide(number, agreed=was.revisions, cancelled=False, counted=False, lost=0)

    def issued(self, number, revision):
        return pickle.loads(self.desk.issued_path(number, revision).read_bytes())

    def answer(self, figures):
        path = self.folder / "answer"
        path.write_bytes(pickle.dumps(figures))
        return path

    def of_quote(self, number):
        return {"at": self.now(), "quote_number": number, "revision": self.model.quote(number).agreed}

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), crash=st.booleans())
    def cancel(self, data, crash):
        number = self.some(data, lambda quote: quote.holds)
        if self.done(Cancelled(**self.of_quote(number)), not self.model.quote(number).delivered, crash=crash):
            self.model.decide(number, cancelled=True)

    @precondition(lambda self: self.numbers(lambda quote: quote.holds and not quote.delivered))
    @rule(data=st.data(), crash=st.booleans())
    def deliver(self, data, crash):
        number = self.some(data, lambda quote: quote.holds and not quote.delivered)
        self.done(Delivered(**self.of_quote(number)), True, crash=crash)
        self.model.decide(number, delivered=True)

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), lost=st.integers(0, 60), crash=st.booleans())
    def count_back(self, data, lost, crash):
        """Also a second time, which takes the place of the first; and more than went out, which is refused."""
        number = self.some(data, lambda quote: quote.holds)
        was = self.model.quote(number)
        losses = (Loss(Item("panels", self.codes[was.kind]), 0, lost),) if lost else ()
        event = CountedBack(**self.of_quote(number), losses=losses)
        if self.done(event, was.delivered and lost <= was.pieces, crash=crash) and (
            not was.counted or lost != was.lost
        ):
            self.model.decide(number, counted=True, lost=lost)

    @precondition(lambda self: self.numbers())
    @rule(data=st.data())
    def undo(self, data):
        number = self.some(data)
        pile = self.model.quotes[number]
        before, held = copy.deepcopy(self.model), self.model.quote(number).holds and self.model.quote(number).agreed
        if len(pile) > 1:
            del pile[-1]
        now = self.model.quote(number)
        allowed = len(before.quotes[number]) > 1 and (not now.holds or held == now.agreed or self.model.fits(number))
        same_file = now.holds and held == now.agreed
        try:
            corrections.undo(self.desk, self.ledger, self.card, number, "a slip of the pen")
            self.unsaid = None
        except NotEnough:
            assert not self.model.fits(number) and (not allowed or same_file)
            self.model = before
        except Misuse:
            assert not allowed
            self.model = before

    # What happens to the stock

    @rule(kind=st.integers(0, 1), day=st.integers(0, DAYS), pieces=st.integers(1, 20))
    def repaired(self, kind, day, pieces):
        item, when = Item("panels", self.codes[kind]), FIRST + timedelta(day)
        days = [when + timedelta(day) for day in range(2 * DAYS)]
        allowed = [day for day in days if pieces <= self.model.missing(kind, day)]
        try:
            corrections.repaired(self.desk, self.ledger, self.card, item, pieces, when)
        except Misuse:
            assert not allowed
            return
        assert allowed
        self.unsaid = None
        self.model.changes.append((kind, allowed[0], "repaired", pieces))

    @rule(kind=st.integers(0, 1), day=st.integers(0, DAYS), less=st.integers(-5, 40))
    def recount(self, kind, day, less):
        item, when = Item("panels", self.codes[kind]), FIRST + timedelta(day)
        self.patches.setattr(corrections, "date", After)
        corrections.recount(self.desk, self.ledger, self.card, item, OWNED[kind] - less, when)
        self.unsaid = None
        self.model.changes.append((kind, when, "counted", less))

    @rule(kind=st.integers(0, 1))
    def other_capitals(self, kind):
        self.call(kind, self.codes[kind].swapcase())

    @rule(kind=st.integers(0, 1))
    def rename(self, kind):
        """A new code on the card stops every promise while anything is held under the old one, until it is said."""
        self.names += 1
        old, new = self.codes[kind], f"Kind-{self.names}"
        quoted = any(pile[-1].kind == kind for pile in self.model.quotes.values())
        self.call(kind, new)
        if any(pile[-1].kind == kind and pile[-1].holds for pile in self.model.quotes.values()):
            with pytest.raises(Misuse, match=f"(?i)quotebook rename {old} NEW"):
                must_know_kinds(self.ledger, self.card, FIRST)
        if quoted or any(each == kind for each, *_ in self.model.changes):
            corrections.rename(self.desk, self.ledger, self.card, old, new)
            self.unsaid = None

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
        if self.unsaid:  # what was recorded and never said to be: nobody knows of it
            self.model, self.unsaid = self.unsaid, None
        shutil.copyfile(saved, path)
        self.opened = None
        if behind:
            with pytest.raises(Misuse, match="quotebook rebuild"):
                archive.open_ledger(self.desk)
        rebuilding.rebuild(self.desk, Ledger(ledger_url(self.desk.folder), archive.desk_name(self.desk)))
        saved.unlink()

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
        agreed = {row.quote_number: row.state for row in ledger.listed() if row.state in STATES}
        assert agreed == {number: state(pile[-1]) for number, pile in self.model.quotes.items() if pile[-1].holds}


STATES = ("agreed", "delivered", "counted back")


def state(quote):
    return "counted back" if quote.counted else "delivered" if quote.delivered else "agreed"


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
