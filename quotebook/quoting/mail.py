"""Writes a mail draft with a quote attached, for the owner to open, read and send in a mail program.

Nothing is sent from here. The draft is a message (RFC 5322, MIME) with `X-Unsent: 1`, which makes
mail programs open it for editing. Its words come from `mail.LANGUAGE.toml`: the desk's own file if
there is one, else the file that ships.
"""

import tomllib
from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from email import policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from importlib.resources import files
from pathlib import Path

from babel import Locale

from quotebook.checking.check import checked_quote, must_be_readable
from quotebook.checking.findings import AGREES
from quotebook.contract.local import locale_of, say_amount, say_day
from quotebook.contract.stamp import Content
from quotebook.contract.stamped import Offered, amount_of, language_of, minor_units_of, options_of, papers_of
from quotebook.contract.values import day_of
from quotebook.desk import Desk
from quotebook.engine.model import Firm
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.quoting.requests import EMAIL

WORKBOOK = ("application", "vnd.openxmlformats-officedocument.spreadsheetml.sheet")
LONGEST_ADDRESS = 254
"""Characters in a mail address (RFC 5321, section 4.5.3.1.3, as corrected)."""


def keep_address(desk: Desk, number: str, address: str) -> None:
    """Keep a client's address in a file beside the issued quote; it never enters a workbook."""
    with atomically(address_path(desk, number), overwrite=True) as temporary:
        temporary.write_text(f"{valid_address(address)}\n", "utf-8")


def kept_address(desk: Desk, number: str) -> str:
    """The address kept for a quote; empty if there is none."""
    try:
        return address_path(desk, number).read_text("utf-8").strip()
    except OSError:
        return ""


def address_path(desk: Desk, number: str) -> Path:
    """The file in which a desk keeps the address for a quote."""
    return desk.issued / f"{number}-address.txt"


def valid_address(address: str) -> str:
    """The address itself, if a mail can be sent to it. Raises Misuse if not."""
    if not EMAIL.fullmatch(address) or len(address) > LONGEST_ADDRESS or not address.isprintable() or "=?" in address:
        raise Misuse(f'"{address}" is not a mail address. Write one, such as name@firm.example, and nothing else.')
    return address


def make_draft(desk: Desk, path: Path, to: str = "", now: datetime | None = None) -> EmailMessage:
    """The draft for the issued quote at `path`, to the address `to` or the address kept for the quote.

    `now` is the draft's date, the present moment by default. Raises Misuse if the file is not as
    issued, a later revision exists, the quote has expired or is no offer, or no address is known; Unreadable if it
    is no workbook.
    """
    content = _as_issued(desk, path)
    if content.results.get("cannot"):
        raise Misuse(
            f"{path}: found a quote that is no offer ({one_line(str(content.results['status']))}); allowed: one that "
            "can be had as it stands. Issue a floor that can be had, and send that."
        )
    firm, papers = desk.card().firm, papers_of(content)
    number = papers.quote_number
    address = to or kept_address(desk, number)
    if not address:
        raise Misuse(f"{path}: no address is known for {number}. Give one: --to ADDRESS.")
    words = _words(desk, language_of(content), firm.region, _facts(firm, content), options_of(content))
    message = compose(firm, address, words["subject"], words["body"], now)
    name = f"{number}-r{int(papers.revision)}.xlsx"
    maintype, subtype = WORKBOOK
    message.add_attachment(path.read_bytes(), maintype=maintype, subtype=subtype, filename=name)
    return message


def compose(firm: Firm, address: str, subject: str, body: str, now: datetime | None = None) -> EmailMessage:
    """A draft from the firm to an address, dated `now`. Raises Misuse if no mail can be sent there."""
    message = EmailMessage(policy.SMTP if valid_address(address).isascii() else policy.SMTPUTF8)
    message["X-Unsent"] = "1"
    message["Date"] = format_datetime(now or datetime.now().astimezone())
    if own := next(filter(EMAIL.fullmatch, firm.contact_lines), ""):
        message["From"] = Address(_header(firm.firm), addr_spec=own)
    message["To"] = address
    message["Subject"] = _header(subject)
    message.set_content(body)
    return message


def write_draft(message: EmailMessage, target: Path) -> Path:
    """Write the draft to a new file; returns its path. Raises Misuse if a file is there already."""
    with atomically(target) as temporary:
        temporary.write_bytes(message.as_bytes())
    return target


def _as_issued(desk: Desk, path: Path) -> Content:
    """What the quote in a file says. Raises Misuse if anything in it has changed, or it is no longer valid."""
    report, comparison = checked_quote(path, desk)
    must_be_readable(report)
    if comparison is None or report.verdict != AGREES:
        raise Misuse(f"{path}: {report.findings[0].message} Send the quote as issued, from {desk.issued}.")
    return comparison.content


def _facts(firm: Firm, content: Content) -> dict[str, object]:
    """What a template may name, by the name for it."""
    papers = papers_of(content)
    return {
        "client": one_line(str(content.inputs["client"] or "")),
        "event": one_line(str(content.inputs["event"] or "")),
        "firm": one_line(firm.firm),
        "contact": "\n".join(map(one_line, firm.contact_lines)),
        "quote_number": papers.quote_number,
        "revision": int(papers.revision),
        "currency": firm.currency,
        "reply_address": firm.reply_address or one_line(firm.firm),
        "minor_units": int(minor_units_of(content)),
        "valid_until": papers.valid_until,
        **{name: amount_of(content, name) for name in ("total", "deposit", "balance")},
        **{name: _due(content, name) for name in ("deposit_due", "balance_due")},
        "picked": content.inputs.get("picked") or "",
    }


def _due(content: Content, name: str) -> date | None:
    """The day on which something is due; None where the quote says none, as those of earlier versions do."""
    serial = content.results.get(name)
    return day_of(serial) if isinstance(serial, Decimal) and serial else None


def one_line(text: str) -> str:
    """A text on one line, without control characters, which could steer a terminal or a mail program."""
    return "".join(sign if sign.isprintable() else " " for sign in " ".join(text.split()))


def _header(text: str) -> str:
    """A text for a header, in which no encoded word (RFC 2047) can be decoded, such as one that hides a line break."""
    return one_line(text).replace("=?", "= ?")


def _words(
    desk: Desk, language: str, country: str, facts: dict[str, object], options: Sequence[Offered]
) -> dict[str, str]:
    """The subject and body in the quote's language. Raises Misuse if the template cannot be used.

    A desk's own template may be older than options: the words about them are then those that ship.
    """
    own = desk.folder / f"mail.{language}.toml"
    shipped = files("quotebook.templates") / own.name
    source = own if own.exists() else shipped
    locale = locale_of(language, country)
    try:
        template = tomllib.loads(shipped.read_text("utf-8")) if options else {}
        template |= tomllib.loads(source.read_text("utf-8"))
        said = {name: _said(value, facts, locale) for name, value in facts.items()}
        said["options"] = "\n".join(_option_said(template, offered, said, locale) for offered in options)
        for name, needed in OPTIONAL.items():
            key = name if said[needed] else f"{name}_without"
            said[name] = template.get(key, "").format(**said)
        said["greeting"] = template["greeting" if said["client"] else "greeting_without_a_name"].format(**said)
        return {"subject": template["subject"].format(**said), "body": template["body"].format(**said)}
    except (OSError, ValueError, LookupError, AttributeError, TypeError) as error:
        raise Misuse(f"{source}: cannot be used for a mail ({type(error).__name__}: {error}).") from error


OPTIONAL = {"deposit_line": "deposit_due", "options_line": "options"}
"""Sentences of a template that name a fact which not every quote has; each has a `_without` for those."""


def _option_said(template: dict[str, str], offered: Offered, said: dict[str, object], locale: Locale) -> str:
    """One option in the words of the template, on a line of its own."""
    amounts = {name: _said(getattr(offered, name), said, locale) for name in ("total", "deposit")}
    facts = {**said, **amounts, "option": offered.option, "what": offered.what, "note": offered.note}
    key = "option_not_offered" if offered.cannot_be_had else "option"
    return one_line(template[key].format(**facts))


def _said(value: object, facts: dict[str, object], locale: Locale) -> object:
    """A value as it is written in the reader's country: amounts and days as text, everything else unchanged."""
    if isinstance(value, Decimal):
        return say_amount(value, int(str(facts["minor_units"])), locale)
    return say_day(value, locale) if isinstance(value, date) else value
