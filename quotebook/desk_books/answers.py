"""Keeps what was found in each file that a client sent back, beside the file: the desk book shows it every day.

It is only remembered, not decided by: an agreement checks its file anew. What is not remembered is checked again.
"""

import json
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from quotebook.bookings.archive import returned_path
from quotebook.checking.check import Report, check_file
from quotebook.checking.issued import IssuedQuotes, issued_quotes
from quotebook.checking.report import by_effect, direction
from quotebook.desk import Desk
from quotebook.files import atomically
from quotebook.ledger import Ledger


@dataclass(frozen=True)
class Answer:
    """One file that a client sent back, as the desk book shows it."""

    quote_number: str
    revision: int
    sha256: str
    sent_at: str
    """When the client sent or saved it (ISO 8601, UTC), as far as the file says; else when it was recorded."""
    file: str
    """What the client or the owner called it."""
    verdict: str
    findings: tuple[str, ...]
    """In words, each with what it is worth, the largest first."""
    references: tuple[str, ...]
    """Of the findings that dispute the quote: what an owner accepts them by."""
    looks: tuple[str, ...]
    """Of the findings about what a person sees of it, which an agreement needs accepted too."""
    replies: dict[str, str]
    """What the client wrote in the cells for an answer, by name."""
    total: str
    """As it should be for the entries that came back; empty if unknown."""


def keep_answer(desk: Desk, digest: str, report: Report, file: str, sent_at: str) -> Answer:
    """Remember what was found in a returned file that the desk keeps under this SHA-256."""
    answer = _answer(digest, report, file, sent_at)
    with atomically(_path(desk, digest), overwrite=True) as path:
        path.write_text(json.dumps(vars(answer), ensure_ascii=False, indent=1), "utf-8")
    return answer


def answers_to(desk: Desk, ledger: Ledger, numbers: Collection[str], today: date) -> dict[str, list[Answer]]:
    """The answers to some quotes that the desk has recorded, by number; of each, the client's latest last."""
    issued = issued_quotes(desk, ledger)
    kept = {path.name for path in returned_path(desk, "").parent.glob("*")}
    found: dict[str, list[Answer]] = {}
    for number, returned in ledger.histories(numbers, "returned").items():
        if returned:
            answers = [_answer_in(details, desk, kept, today, issued) for details in returned]
            found[number] = sorted(answers, key=lambda answer: answer.sent_at)
    return found


def _answer_in(details: dict[str, Any], desk: Desk, kept: set[str], today: date, issued: IssuedQuotes) -> Answer:
    """What is remembered of a returned file; one that only the ledger knows is checked again if the desk keeps it.

    `kept` are the names in the desk's folder of returned files.
    """
    path = _path(desk, details["sha256"])
    if path.name in kept:
        values = json.loads(path.read_text("utf-8"))
        for name in ("findings", "references", "looks"):
            values[name] = tuple(values[name])
        return Answer(**values)
    file = returned_path(desk, details["sha256"])
    if file.name in kept:
        return keep_answer(desk, details["sha256"], check_file(file, desk, today, issued), file.name, details["at"])
    return Answer(
        details["quote_number"], details["revision"], details["sha256"], details["at"], "", details["verdict"], (), (),
        (), {}, "",
    )  # fmt: skip


def _answer(digest: str, report: Report, file: str, sent_at: str) -> Answer:
    findings = []
    for finding in by_effect(report.findings):
        worth = f" ({finding.effect:+,}, {direction(finding.kind, finding.effect)})" if finding.effect else ""
        findings.append(f"{finding.message}{worth}")
    return Answer(
        report.quote or "", report.revision or 0, digest, sent_at, file, report.verdict, tuple(findings),
        tuple(finding.reference for finding in report.findings if finding.disputes),
        tuple(finding.reference for finding in report.findings if finding.kind.is_seen and not finding.disputes),
        dict(report.replies),
        "" if report.engine is None else str(report.engine),
    )  # fmt: skip


def _path(desk: Desk, digest: str) -> Path:
    return returned_path(desk, digest).with_suffix(".json")
