"""A mail draft with a quote attached, to be opened, read and sent in the owner's own mail program.

Nothing is sent from here. The draft is a message (RFC 5322, MIME) with `X-Unsent: 1`, by which mail
programs open it for editing. Its words come from `mail.LANGUAGE.toml`: the desk's own, where there is
one, else the one that ships.
"""

import tomllib
from datetime import date, datetime
from decimal import Decimal
from email import policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.utils import format_datetime
from importlib.resources import files
from pathlib import Path

from quotebook.checking.check import checked_quote, must_be_readable
from quotebook.checking.findings import AGREES
from quotebook.contract.stamp import Content
from quotebook.contract.values import day_of
from quotebook.desk import Desk
from quotebook.engine.model import Firm
from quotebook.errors import Misuse
from quotebook.files import atomically
from quotebook.quoting.requests import EMAIL

WORKBOOK = ("application", "vnd.openxmlformats-officedocument.spreadsheetml.sheet")
LONGEST_ADDRESS = 254
"""RFC 5321, 4.5.3.1.3, as corrected."""


def remember(desk: Desk, number: str, address: str) -> None:
    """Keeps a client's address beside the quotes as they went out; it never enters a workbook."""
    with atomically(_address_path(desk, number), overwrite=True) as temporary:
        temporary.write_text(f"{checked(address)}\n", "utf-8")


def remembered(desk: Desk, number: str) -> str:
    """The address kept for a quote; "" where none is."""
    try:
        return _address_path(desk, number).read_text("utf-8").strip()
    except OSError:
        return ""


def _address_path(desk: Desk, number: str) -> Path:
    return desk.issued / f"{number}-address.txt"


def checked(address: str) -> str:
    """The address, if it is one. Raises Misuse."""
    if not EMAIL.fullmatch(address) or len(address) > LONGEST_ADDRESS or not address.isprintable() or "=?" in address:
        raise Misuse(f'"{address}" is no mail address; write one, as in name@firm.example, and nothing else.')
    return address


def draft(desk: Desk, path: Path, to: str = "", now: datetime | None = None) -> EmailMessage:
    """The draft for an issued quote, to `to` or to the address kept for it.

    Raises Misuse where the file is not as issued, has been followed by another, has expired, or no
    address is known; Unreadable where it is no workbook.
    """
    content = _as_issued(desk, path)
    firm, number = desk.card().firm, content.owner["quote_number"]
    address = to or remembered(desk, number)
    if not address:
        raise Misuse(f"{path}: no address is known for {number}. Give one: --to ADDRESS.")
    words = _words(desk, firm.language, _facts(firm, content))
    message = EmailMessage(policy.SMTP if checked(address).isascii() else policy.SMTPUTF8)
    message["X-Unsent"] = "1"
    message["Date"] = format_datetime(now or datetime.now().astimezone())
    if own := next(filter(EMAIL.fullmatch, firm.contact_lines), ""):
        message["From"] = Address(_header(firm.firm), addr_spec=own)
    message["To"] = address
    message["Subject"] = _header(words["subject"])
    message.set_content(words["body"])
    name = f"{number}-r{int(content.owner['revision'])}.xlsx"
    message.add_attachment(path.read_bytes(), *WORKBOOK, filename=name)
    return message


def write_draft(message: EmailMessage, target: Path) -> Path:
    """Writes the draft to a new file. Raises Misuse where a file is there already."""
    with atomically(target) as temporary:
        temporary.write_bytes(message.as_bytes())
    return target


def _as_issued(desk: Desk, path: Path) -> Content:
    """What the quote in a file says, if nothing in it has changed and it still stands."""
    report, comparison = checked_quote(path, desk)
    must_be_readable(report)
    if report.verdict != AGREES:
        raise Misuse(f"{path}: {report.findings[0].message} Send the quote as issued, from {desk.issued}.")
    return comparison.content


def _facts(firm: Firm, content: Content) -> dict[str, object]:
    """What a template may name."""
    texts = {name: _line(content.inputs[name] or "") for name in ("client", "event")}
    return texts | {
        "firm": _line(firm.firm),
        "contact": "\n".join(map(_line, firm.contact_lines)),
        "quote_number": content.owner["quote_number"],
        "revision": int(content.owner["revision"]),
        "currency": firm.currency,
        "total": content.results["total"],
        "deposit": content.results["deposit"],
        "valid_until": day_of(content.owner["valid_until"]),
    }


def _line(text: str) -> str:
    """A text on one line, without signs that steer a terminal or a mail program."""
    return "".join(sign if sign.isprintable() else " " for sign in " ".join(text.split()))


def _header(text: str) -> str:
    """A text for a header. What looks like an encoded word (RFC 2047) would be decoded, to a line break for one."""
    return _line(text).replace("=?", "= ?")


def _words(desk: Desk, language: str, facts: dict) -> dict[str, str]:
    """Subject and body in the firm's language. Raises Misuse where the template is not as it should be."""
    own = desk.folder / f"mail.{language}.toml"
    source = own if own.exists() else files("quotebook.templates") / own.name
    try:
        template = tomllib.loads(source.read_text("utf-8"))
        facts = {name: _said(value, template) for name, value in facts.items()}
        facts["greeting"] = template["greeting" if facts["client"] else "greeting_without_a_name"].format(**facts)
        return {"subject": template["subject"].format(**facts), "body": template["body"].format(**facts)}
    except (OSError, ValueError, LookupError, AttributeError, TypeError) as error:
        raise Misuse(f"{source}: cannot be used for a mail ({type(error).__name__}: {error}).") from error


def _said(value: object, template: dict) -> object:
    """Amounts and days as the language writes them."""
    if isinstance(value, Decimal):
        signs = str.maketrans({",": template["thousands"], ".": template["decimal"]})
        return f"{value:,}".translate(signs)
    if isinstance(value, date):
        return template["day"].format(day=value.day, month=template["months"][value.month - 1], year=value.year)
    return value
