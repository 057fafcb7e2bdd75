"""Everything that can happen to a ledger, in any order, held against `model`, which counts piece by piece.

Workbooks are stood in for by files that hold the figures, so that a run takes a fraction of a second;
files, slips, chains, copies put back and rebuilding are the program's own. A crash is a process that
ended before one of the steps that it takes on the disk or in the ledger, whichever that is.
"""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import os
import pickle
import shutil
import tempfile
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from types import SimpleNamespace

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
from ledger_fixtures import CARD, contents, postgresql, quick_queries, quote
from model import Floor, Model, Quote
from sqlalchemy import create_engine, inspect, make_url, text
from sqlalchemy.pool import NullPool

from quotebook.bookings import archive, corrections, decisions, rebuilding, receiving
from quotebook.bookings.availability import free_by_day, must_know_kinds
from quotebook.desk import Desk, init
from quotebook.engine.stock import Item, held_days, owned
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.database import Database, ledger_url
from quotebook.ledger.events import Agreed, Cancelled, CountedBack, Delivered, Issued, Loss

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
STEPS = 12
"""More than anything takes that is recorded here, on the disk and in the ledger."""
CRASHES = st.sampled_from((*[0] * STEPS, *range(1, STEPS + 1)))
"""The step before which the process ends; 0 if it does not."""


class Ended(BaseException):
    """The process is no more."""


@contextmanager
def ending_before(step):
    """A process that ends before its step of this number, and takes none after it; 0 for one that goes on."""
    taken = 0

    def count():
        nonlocal taken
        taken += 1
        if step and taken >= step:
            raise Ended

    def counted(whole):
        def one(*arguments, **named):
            count()
            return whole(*arguments, **named)

        return one

    @contextmanager
    def writing(database, whole=Database.writing):
        with whole(database) as connection:
            yield connection
            count()
        count()

    with pytest.MonkeyPatch.context() as patches:
        for name in ("fsync", "link", "rename", "replace", "unlink"):
            patches.setattr(os, name, counted(getattr(os, name)))
        patches.setattr(Database, "writing", writing)
        yield


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
        self.opened, self.written, self.unsaid = None, {}, {}
        self.patches = pytest.MonkeyPatch()
        self.patches.setattr(Desk, "card", lambda desk: self.card)
        self.patches.setattr(rebuilding, "record_of_file", lambda desk, path, firm: pickle.loads(path.read_bytes()))
        self.patches.setattr(rebuilding, "is_as_signed", lambda desk, path: True)
        self.patches.setattr(archive, "issued_of_file", issued_of_file)
        for module in (archive, corrections, decisions, receiving):
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

    def recorded(self, do, allowed, crash=0):
        """Whether `do` was done, in a process that may end before that: it has to be as the model allows.

        Of what a process did that ended it is seen afterwards.
        """
        before, ledger = self.model.copy(), self.ledger
        events = ledger.last_line()[0]
        try:
            with ending_before(crash):
                self.said = do(ledger)
        except Misuse:
            assert not allowed
            return False
        except Ended:
            self.said = self.opened = None
            if self.ledger.last_line()[0] == events:
                return False
        assert allowed
        self.unsaid = {n: model for n, model in self.unsaid.items() if not archive.slip_path(self.desk, n).exists()}
        if self.ledger.last_line()[0] > events and not archive.slip_path(self.desk, events + 1).exists():
            self.unsaid[events + 1] = before
        return True

    def done(self, event, allowed, owned_=None, crash=0):
        """Record an event; whether it was recorded has to be as the model says."""
        return self.recorded(lambda ledger: archive.record_event(self.desk, ledger, event, owned_), allowed, crash)

    def numbers(self, condition=lambda quote: True):
        return [number for number, pile in self.model.quotes.items() if condition(pile[-1])]

    def some(self, data, condition=lambda quote: True):
        return data.draw(st.sampled_from(self.numbers(condition)))

    # What happens to quotes

    @rule(floor=FLOORS, crash=CRASHES)
    def issue(self, floor, crash):
        self.issued_numbers += 1  # one that was reserved before a crash is not used again
        self.write(f"Q{self.issued_numbers:04}", 1, floor, crash)

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), floor=FLOORS, crash=CRASHES)
    def reissue(self, data, floor, crash):
        number = self.some(data)
        self.write(number, self.desk.latest_revision(number) + 1, floor, crash)

    def write(self, number, revision, floor, crash):
        """Write a workbook and record it."""
        path, code = self.desk.issued_path(number, revision), self.codes[floor.kind]
        self.written[path] = number, revision, floor, code

        def do(ledger):
            with atomically(path) as temporary:
                temporary.write_bytes(pickle.dumps(record_of(number, revision, code, floor)))
            archive.record_issued(self.desk, ledger, path, self.card)

        if self.recorded(do, True, crash):
            self.model.offer(number, revision, floor)

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), share=st.integers(1, 12), crash=CRASHES)
    def come_back(self, data, share, crash):
        """A file comes back of any revision, with another number of panels in it than was offered."""
        number = self.some(data)
        revision, floor = data.draw(st.sampled_from(sorted(self.model.quote(number).offers.items())))
        self.take_in(number, revision, replace(floor, pieces=share * OWNED[floor.kind] // 12), crash)

    def take_in(self, number, revision, floor, crash=0):
        """Keep a file that came back and record its verdict; what is kept of it, or None."""
        figures = pickle.loads(self.desk.issued_path(number, revision).read_bytes())
        self.files += 1
        line = replace(figures.lines[0], panels=floor.pieces)
        path = self.folder / "answer"
        path.write_bytes(pickle.dumps(replace(figures, event=f"answer {self.files}", lines=(line,))))
        report = SimpleNamespace(quote=number, revision=revision, verdict="agrees", findings=())
        if not self.recorded(lambda ledger: receiving.record_returned(self.desk, ledger, path, report), True, crash):
            return None
        self.model.come_back(number, revision)
        self.answers.setdefault(number, []).append((revision, archive.digest_of(path.read_bytes()), floor))
        return self.answers[number][-1]

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), crash=CRASHES, anew=st.booleans())
    def agree(self, data, crash, anew):
        """A file is agreed: of the last revision as it was offered, or any that came back, perhaps once more."""
        number = self.some(data)
        was = self.model.quote(number)
        known = [each for each in self.answers.get(number, ()) if each[0] in was.offers]
        if anew or not known:
            revision, digest, floor = self.take_in(number, was.last, was.offers[was.last])
        else:
            revision, digest, floor = data.draw(st.sampled_from(known))
        self.agree_to(number, revision, digest, floor, crash)

    def agree_to(self, number, revision, digest, floor, crash=0):
        was = self.model.quote(number)
        figures = pickle.loads(archive.returned_path(self.desk, digest).read_bytes())
        again = bool(was.holds) and (was.agreed, was.file) == (revision, digest)
        allowed = again or (self.model.fits(number, floor) and not was.delivered)
        event = Agreed(at=self.now(), quote=figures, sha256=digest)
        if self.done(event, allowed, owned(self.card), crash) and not again:
            of_agreement = {"agreed": revision, "file": digest, "floor": floor}
            self.model.decide(number, revision, "agreed", **of_agreement, cancelled=False, counted=False, lost=0)

    @precondition(lambda self: self.model.quotes)
    @rule(data=st.data(), reason=st.sampled_from(("too dear", "no answer")), crash=CRASHES)
    def decline(self, data, reason, crash):
        """The last revision is declined: an earlier one that is agreed stays so, and what is agreed is not declined."""
        number = self.some(data)
        was = self.model.quote(number)
        last = was.last
        allowed = was.word(last) in ("issued", "returned", "declined") and not (was.holds and was.agreed >= last)
        new = (was.word(last), was.reason) != ("declined", reason)
        if self.recorded(lambda ledger: decisions.decline(self.desk, ledger, number, reason), allowed, crash):
            assert self.said in (new, None)
            if new:
                self.model.decide(number, last, "declined", reason=reason)

    def of_quote(self, number):
        return {"at": self.now(), "quote_number": number, "revision": self.model.quote(number).agreed}

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), crash=CRASHES)
    def cancel(self, data, crash):
        number = self.some(data, lambda quote: quote.holds)
        was = self.model.quote(number)
        if self.done(Cancelled(**self.of_quote(number)), not was.delivered, crash=crash):
            self.model.decide(number, was.agreed, "cancelled", cancelled=True)

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), crash=CRASHES)
    def deliver(self, data, crash):
        self.deliver_of(self.some(data, lambda quote: quote.holds), crash)

    def deliver_of(self, number, crash=0):
        was = self.model.quote(number)
        if self.done(Delivered(**self.of_quote(number)), True, crash=crash) and not was.delivered:
            self.model.decide(number, was.agreed, "delivered", delivered=True)

    @precondition(lambda self: self.numbers(lambda quote: quote.holds))
    @rule(data=st.data(), lost=st.integers(0, 60), crash=CRASHES)
    def count_back(self, data, lost, crash):
        """Also a second time, which takes the place of the first; and more than went out, which is refused."""
        self.count_back_of(self.some(data, lambda quote: quote.holds), lost, crash)

    def count_back_of(self, number, lost, crash=0):
        was = self.model.quote(number)
        losses = (Loss(Item("panels", self.codes[was.floor.kind]), 0, lost),) if lost else ()
        event = CountedBack(**self.of_quote(number), losses=losses)
        if self.done(event, was.delivered and lost <= was.floor.pieces, crash=crash) and (
            not was.counted or lost != was.lost
        ):
            said_on = date.fromisoformat(event.at[:10])
            self.model.decide(number, was.agreed, "counted back", counted=True, lost=lost, counted_on=said_on)

    @precondition(lambda self: self.numbers())
    @rule(data=st.data(), crash=CRASHES)
    def undo(self, data, crash):
        number = self.some(data)
        before = self.model.quotes[number]
        was, now = before[-1], before[-2] if len(before) > 1 else None
        held_too = now and was.holds and (was.agreed, was.file) == (now.agreed, now.file)
        allowed = now and (not now.holds or held_too or self.model.fits(number, now.floor))

        def do(ledger):
            corrections.undo(self.desk, ledger, self.card, number, "a slip of the pen")

        if self.recorded(do, allowed, crash):
            del self.model.quotes[number][-1]

    # What happens to the stock

    @rule(kind=st.integers(0, 1), day=st.integers(0, DAYS), pieces=st.integers(1, 20), crash=CRASHES)
    def repaired(self, kind, day, pieces, crash):
        item, when = Item("panels", self.codes[kind]), FIRST + timedelta(day)
        days = [when + timedelta(day) for day in range(2 * DAYS)]
        allowed = [day for day in days if pieces <= self.model.missing(kind, day)]

        def do(ledger):
            corrections.repaired(self.desk, ledger, self.card, item, pieces, when)

        if self.recorded(do, bool(allowed), crash):
            self.model.changes.append((kind, allowed[0], "repaired", pieces))

    @rule(kind=st.integers(0, 1), day=st.integers(0, DAYS), less=st.integers(-5, 40), crash=CRASHES)
    def recount(self, kind, day, less, crash):
        self.count_anew(kind, FIRST + timedelta(day), less, crash)

    @rule(floor=FLOORS, lost=st.integers(1, 12), before=st.integers(0, 2), less=st.integers(0, 40))
    def hired_lost_and_counted(self, floor, lost, before, less):
        """A hire from end to end, and a count while it is still held: chance alone hardly ever gets there."""
        self.issued_numbers += 1
        number = f"Q{self.issued_numbers:04}"
        self.write(number, 1, floor, 0)
        self.agree_to(number, *self.take_in(number, 1, floor))
        if self.model.quote(number).holds:
            self.deliver_of(number)
            self.count_back_of(number, lost)
            self.count_anew(floor.kind, floor.held_to - timedelta(before), less)

    def count_anew(self, kind, when, less, crash=0):
        item = Item("panels", self.codes[kind])
        self.patches.setattr(corrections, "date", After)

        still_held = self.model.lost_but_held(kind, when)

        def do(ledger):
            corrections.recount(self.desk, ledger, self.card, item, OWNED[kind] - less, when)

        if self.recorded(do, less >= 0, crash):
            self.model.changes.append((kind, when, "counted", less - still_held))

    @rule(kind=st.integers(0, 1))
    def other_capitals(self, kind):
        self.call(kind, self.codes[kind].swapcase())

    @rule(kind=st.integers(0, 1), crash=CRASHES)
    def rename(self, kind, crash):
        """A new code on the card stops every promise while anything is held under the old one, until it is said."""
        self.names += 1
        old, new = self.codes[kind], f"Kind-{self.names}"
        self.call(kind, new)
        if any(pile[-1].holds and pile[-1].floor.kind == kind for pile in self.model.quotes.values()):
            with pytest.raises(Misuse, match=f"(?i)quotebook rename {old} NEW"):
                must_know_kinds(self.ledger, self.card, FIRST)
        self.say_renamed(kind, old, new, crash)

    def say_renamed(self, kind, old, new, crash=0):
        """Say that a kind is called otherwise now, if anything was ever recorded of it; until it is recorded."""
        offered = any(
            floor.kind == kind for pile in self.model.quotes.values() for floor in pile[-1].offers.values()
        )  # fmt: skip
        if offered or any(each == kind for each, *_ in self.model.changes):

            def do(ledger):
                corrections.rename(self.desk, ledger, self.card, old, new)

            if not self.recorded(do, True, crash):
                assert self.recorded(do, True)
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
        if not saved.exists():
            shutil.copyfile(self.up_to_date().database.name, saved)
            return
        saved_events = Ledger(f"sqlite:///{saved}", archive.desk_name(self.desk)).last_line()[0]
        behind = archive.slip_path(self.desk, saved_events + 1).exists()
        renames = self.model.renames
        if self.unsaid:  # what was recorded and never said to be: nobody knows of it
            self.model, self.unsaid = self.unsaid[min(self.unsaid)], {}
        saved.rename(path)
        self.opened = None
        if behind:
            with pytest.raises(Misuse, match="quotebook rebuild"):
                archive.open_ledger(self.desk)
        rebuilding.rebuild(self.desk, Ledger(ledger_url(self.desk.folder), archive.desk_name(self.desk)))
        # The card has the new codes, and the owner says so again.
        unsaid = renames[len(self.model.renames) :]
        for kind, old in {kind: old for kind, old, _ in reversed(unsaid)}.items():
            self.say_renamed(kind, old, self.codes[kind])
        self.record_unrecorded()

    def record_unrecorded(self):
        """Workbooks that a crash left without an event are recorded, under the codes that they have."""
        recorded, refused = rebuilding.record_unrecorded(self.desk, self.ledger)
        assert not refused
        lacking = [path for path, (number, revision, *_) in sorted(self.written.items())
                   if path.exists() and revision not in self.model.offers(number)]  # fmt: skip
        assert recorded == lacking
        for path in lacking:
            number, revision, floor, code = self.written[path]
            self.model.offer(number, revision, floor)
            if code.casefold() != self.codes[floor.kind].casefold():
                self.say_renamed(floor.kind, code, self.codes[floor.kind])

    def up_to_date(self):
        """The ledger, with a slip of all that is in it, as any next record leaves it."""
        archive.keep_slips(self.desk, self.ledger)
        self.unsaid = {}
        return self.ledger

    @rule()
    def rebuilt(self):
        """Made again of slips and files, in another file: row for row the same."""
        ledger = self.up_to_date()
        self.copies += 1
        again = empty_ledger(self.folder / f"again-{self.copies}.sqlite", archive.desk_name(self.desk))
        rebuilding.rebuild(self.desk, again)
        assert contents(again) == contents(ledger)

    @invariant()
    def what_is_free_is_what_the_model_counts(self):
        """Looked at after every other step, which takes half the time of a run as it is."""
        self.looks = getattr(self, "looks", 0) + 1
        if self.looks % 2 or not hasattr(self, "desk"):
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


@cache
def empty_file():
    """The content of the file of a ledger with nothing in it."""
    with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
        path = Path(folder) / "ledger.sqlite"
        Ledger(f"sqlite:///{path}")
        return path.read_bytes()


def empty_ledger(path, desk_name):
    path.write_bytes(empty_file())
    return Ledger(f"sqlite:///{path}", desk_name)


def rows_of(number, quote):
    """The rows of a list that tell of a quote."""
    for revision in quote.shown():
        agreed, word = quote.holds and revision == quote.agreed, quote.word(revision)
        floor = quote.floor if agreed else quote.offers[revision]
        yield number, revision, word, quote.reason if word == "declined" else "", floor.pieces


class After(date):
    @classmethod
    def today(cls):
        return date(2027, 12, 31)


pytestmark = pytest.mark.usefixtures("quick_queries")


@pytest.mark.parametrize("runs", [40, pytest.param(5000, marks=pytest.mark.slow)])
def test_whatever_happens_the_ledger_is_right(runs):
    run_state_machine_as_test(AnyLedger, settings=settings(max_examples=runs, stateful_step_count=20, deadline=None))


@pytest.mark.parametrize("runs", [10, pytest.param(5000, marks=pytest.mark.slow)])
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
