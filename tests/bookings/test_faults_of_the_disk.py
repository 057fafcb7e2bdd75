"""Every step on the disk that issuing, agreeing and taking in a file take, failed one at a time.

Nothing said to be done is lost. Each step (a write, an fsync, a link, a rename, an unlink, a commit of the
ledger) is failed in three ways: the process dies before it, the process dies after it, or the disk is full,
which a write notices when half of it is written. A process of its own does it, so that a death is a death.
Dead before a step is as good as dead after the one before it, and is tried with `--slow`.
Workbooks are stood in for by files that hold the figures; `--slow` takes real ones.
"""

# ruff: noqa: F401, F811 (fixtures are imported by their names)

import errno
import os
import pickle
import shutil
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import count
from pathlib import Path
from types import SimpleNamespace

import pytest
from extent import some
from ledger_fixtures import CARD, agreed, contents, floor, quick_queries, quote

from quotebook.bookings import archive, decisions, rebuilding, receiving
from quotebook.desk import Desk, init
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.stock import owned
from quotebook.errors import QuotebookError
from quotebook.files import atomically
from quotebook.ledger import Ledger
from quotebook.ledger.database import Database
from quotebook.ledger.events import Issued
from quotebook.ledger.refusals import NotRecorded

STEPS = ("fsync", "link", "rename", "replace", "unlink")
DONE, DIED, REFUSED, NO_SUCH_STEP = 0, 7, 8, 9
FIGURES = quote(lines=floor())


def issued_of_file(desk, path, *_):
    """The issue of a file that is no workbook, but a record."""
    content = path.read_bytes()
    return Issued(at=archive.now(), quote=pickle.loads(content), sha256=archive.digest_of(content))


@pytest.fixture
def desk(tmp_path, monkeypatch, quick_queries):
    """A desk where Q0001 is issued, so that there is something to lose."""
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    monkeypatch.setattr(Desk, "card", lambda desk: CARD)
    monkeypatch.setattr(rebuilding, "record_of_file", lambda desk, path, firm: pickle.loads(path.read_bytes()))
    monkeypatch.setattr(archive, "issued_of_file", issued_of_file)
    made = init(tmp_path / "desk")
    for answer in ("answer", "another answer"):
        (made.folder / answer).write_bytes(pickle.dumps(replace(FIGURES, event=answer)))
    issue(made)
    return made


def issue(desk):
    """As the command does it: a workbook under the next number, then its record and its slip."""
    number = next(desk.numbers())
    path = desk.issued_path(number, 1)
    with atomically(path) as temporary:
        temporary.write_bytes(pickle.dumps(replace(FIGURES, quote_number=number)))
    archive.record_issued(desk, archive.open_ledger(desk), path, CARD)


def take_in(desk):
    """As the commands do it: the file that came back is kept, and its verdict recorded; returns its digest."""
    report = SimpleNamespace(quote="Q0001", revision=1, verdict="agrees", findings=())
    return receiving.record_returned(desk, archive.open_ledger(desk), desk.issued_path("Q0001", 1), report)


def check(desk):
    """As `check` does it with two files from anywhere, that are no copies of the desk's."""
    report = SimpleNamespace(quote="Q0001", revision=1, verdict="changed", findings=("wider",))
    answers = [desk.folder / "answer", desk.folder / "another answer"]
    receiving.record_checked(desk, archive.open_ledger(desk), [(path, report) for path in answers])


def agree(desk):
    """As the command does it: the file that came back, its verdict, and the agreement."""
    event = agreed(FIGURES, sha256=take_in(desk))
    archive.record_event(desk, archive.open_ledger(desk), event, owned(CARD))


def write_half(path, content, *_):
    with path.open("wb") as file:
        file.write((content if isinstance(content, bytes) else content.encode())[: len(content) // 2])


def writing_with(step):
    """Write transactions of the ledger that have a step before they commit, and one after."""
    whole = Database.writing

    @contextmanager
    def writing(database):
        with whole(database) as connection:
            yield connection
            try:
                step()
            except OSError as error:  # as SQLite has it
                raise NotRecorded(f"{database.name}: {error}") from error
        with suppress(OSError):  # nothing is written any more
            step()

    return writing


def in_a_process(do, desk, step, how):
    """Do it with one step failed; how that ended."""
    process = os.fork()
    if not process:
        os._exit(_with_a_fault(do, desk, step, how))
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def _with_a_fault(do, desk, step, how):
    taken = 0

    def failing(whole, half=None):
        def one(*arguments, **named):
            nonlocal taken
            taken += 1
            if taken != step:
                return whole(*arguments, **named)
            with suppress(OSError):
                (whole if how == "dies after" else half or (lambda *_: None))(*arguments)
            if how == "the disk is full":
                raise OSError(errno.ENOSPC, "No space left on device")
            os._exit(DIED)

        return one

    for name in STEPS:
        setattr(os, name, failing(getattr(os, name)))
    for name in ("write_bytes", "write_text"):
        setattr(Path, name, failing(getattr(Path, name), write_half))
    Database.writing = writing_with(failing(lambda: None))
    try:
        do(desk)
    except QuotebookError:
        return REFUSED
    return DONE if taken >= step else NO_SUCH_STEP


LEAST = {issue: 12, check: 22, agree: 19}
"""Each takes so many steps, or more."""


EVERY = [(do, how) for do in (issue, check, agree) for how in ("dies before", "dies after", "the disk is full")]
USUAL = [(issue, "dies after"), (check, "dies after"), (agree, "dies after"), (agree, "the disk is full")]


@pytest.mark.parametrize(("do", "how"), some(EVERY, USUAL))
def test_a_fault_at_every_step_loses_nothing(desk, tmp_path, do, how):
    before = len(archive.open_ledger(desk).history())
    for step in count(1):
        tried = replace(desk, folder=tmp_path / f"tried {step}")
        shutil.copytree(desk.folder, tried.folder)
        status = in_a_process(do, tried, step, how)
        must_be_whole(tried, before, done=status in (DONE, NO_SUCH_STEP))
        if status == NO_SUCH_STEP:
            assert step > LEAST[do]
            return


def must_be_whole(desk, before, done):
    """The ledger opens, is rebuilt row for row, and goes on; what was said to be done is there."""
    ledger = archive.open_ledger(desk)
    events = ledger.history()
    assert len(events) >= before
    if done:
        assert len(events) > before and archive.slip_path(desk, len(events)).exists()
    archive.keep_slips(desk, ledger)
    again = Ledger(f"sqlite:///{desk.folder / 'again.sqlite'}", ledger.desk)
    assert rebuilding.rebuild(desk, again).events == len(events)
    assert contents(again) == contents(ledger)
    agree(desk)
    check(desk)
    issue(desk)
    numbers = [path.name for path in desk.issued.glob("Q*.xlsx")]
    assert len(set(numbers)) == len(numbers) >= 2 and ledger.standing("Q0001")


@pytest.mark.slow
def test_real_workbooks(tmp_path, monkeypatch):
    """The first quote of a new desk, by the program's own way, with the process dead after each step."""
    monkeypatch.delenv("QUOTEBOOK_LEDGER", raising=False)
    for step in count(1):
        desk = init(tmp_path / f"desk {step}")
        card = desk.card()
        request = one_floor(card)

        def do(desk, card=card, request=request):
            decisions.issue_next(desk, archive.open_ledger(desk), card, request, date(2027, 5, 3))

        status = in_a_process(do, desk, step, "dies after")
        ledger = archive.open_ledger(desk)
        archive.keep_slips(desk, ledger)
        again = Ledger(f"sqlite:///{desk.folder / 'again.sqlite'}", ledger.desk)
        rebuilding.rebuild(desk, again)
        assert contents(again) == contents(ledger)
        do(desk)
        assert ledger.listed()
        if status == NO_SUCH_STEP:
            assert step > 8
            return


def one_floor(card):
    return Request(
        event_date=date(2027, 6, 12), days=Decimal(1), surface="grass",
        lines=(FloorLine(card.rates.kinds[0].panel, Decimal(8), Decimal(8)),),
    )  # fmt: skip
