"""The check of many files: on as many processes as pay, in order, and no file stops the rest."""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import partial
from threading import Thread
from time import sleep

from quotebook.checking.check import Report, check_file
from quotebook.checking.findings import UNREADABLE, Finding
from quotebook.checking.incoming import Incoming
from quotebook.checking.issued import IssuedQuotes, issued_quotes
from quotebook.checking.kinds import Kind
from quotebook.desk import Desk
from quotebook.errors import Misuse

FILES_A_PROCESS = 12
"""A process is started for at least this many files: checking them takes longer than its start (about 20 ms a file)."""
CHUNK = 8
WATCH = 0.5
"""Seconds between two looks at whether the process that started this one is still there."""


def check_all(
    files: Sequence[Incoming],
    desk: Desk,
    today: date | None = None,
    jobs: int | None = None,
    issued: IssuedQuotes | None = None,
) -> Iterator[Report]:
    """A report for each file, in their order. `jobs` processes at the most, else one for each core.

    `issued` is what the desk knows to have been issued, where that is at hand already. Raises Misuse where a
    process was ended from outside.
    """
    check = partial(check_one, desk=desk, today=today, issued=issued or issued_quotes(desk))
    jobs = min(jobs or _cores(), len(files) // FILES_A_PROCESS)
    yield from map(check, files) if jobs < 2 else _on_processes(check, files, jobs)


def _on_processes(check: Callable[[Incoming], Report], files: Sequence[Incoming], jobs: int) -> Iterator[Report]:
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    try:
        with ProcessPoolExecutor(jobs, initializer=_follow_the_first) as pool:
            yield from pool.map(check, files, chunksize=CHUNK)
    except BrokenProcessPool:
        raise Misuse(
            "A process that checked files was ended from outside. Check fewer at once, with --jobs 1."
        ) from None


def check_one(file: Incoming, desk: Desk, today: date | None = None, issued: IssuedQuotes | None = None) -> Report:
    """The report on one file, under the name that a person knows it by."""
    if file.trouble:
        return Report(file.shown, UNREADABLE, (Finding(Kind.UNREADABLE, file.trouble),))
    report = check_file(file.path, desk, today, issued)
    path = str(file.path)
    findings = tuple(replace(each, message=each.message.replace(path, file.shown)) for each in report.findings)
    return replace(report, file=file.shown, findings=findings) if file.shown != path else report


def _cores() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _follow_the_first() -> None:
    """Ctrl-C reaches every process of a terminal: the first ends the rest in order. They end when it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_after, args=(os.getppid(),), daemon=True).start()


def _end_after(starter: int) -> None:
    """End this process once the one that started it is gone, however that ended."""
    while os.getppid() == starter:
        sleep(WATCH)
    os._exit(1)
