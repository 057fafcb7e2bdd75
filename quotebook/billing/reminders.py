"""Writes mail drafts that remind clients of deposits, balances and bills that are due; nothing is sent."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from email.message import EmailMessage
from pathlib import Path

from quotebook.billing.items import bill_words
from quotebook.bookings.jobs import signed_content
from quotebook.bookings.payments import Account
from quotebook.contract.local import locale_of, say_amount, say_day
from quotebook.contract.stamped import language_of
from quotebook.desk import Desk
from quotebook.engine.dues import BILL, Due
from quotebook.engine.model import Firm
from quotebook.quoting.mail import compose, kept_address, one_line, write_draft


@dataclass(frozen=True)
class Reminder:
    """What one client is reminded of."""

    account: Account
    due: Due
    address: str
    """Empty if none is known."""
    path: Path
    """Where its draft is, once it is written."""


def reminders(desk: Desk, accounts: Iterable[Account], day: date) -> list[Reminder]:
    """A reminder for everything that is due on a day, or was before, the longest due first."""
    found = [(account, due) for account in accounts for due in account.dues if due.due_on <= day]
    folder = desk.folder / "reminders"
    return [
        Reminder(
            account, due, kept_address(desk, account.quote.quote_number),
            folder / f"{account.quote.quote_number}-{due.towards}-{day}.eml",
        )
        for account, due in sorted(found, key=lambda pair: (pair[1].due_on, pair[0].quote.quote_number))
    ]  # fmt: skip


def write_reminder(desk: Desk, reminder: Reminder, firm: Firm, now: datetime | None = None) -> bool:
    """Write a reminder's draft in its quote's language; False if it is there already. The reminder has an address."""
    if reminder.path.exists():
        return False
    reminder.path.parent.mkdir(exist_ok=True)
    quote = reminder.account.quote
    content = signed_content(desk, quote.quote_number, quote.revision)
    own = replace(firm, language=language_of(content)) if content else firm
    write_draft(_message(reminder, own, now), reminder.path)
    return True


def _message(reminder: Reminder, firm: Firm, now: datetime | None) -> EmailMessage:
    account, due = reminder.account, reminder.due
    quote, words = account.quote, bill_words(firm.language)["reminder"]
    locale = locale_of(firm.language, firm.region)
    event_date = say_day(quote.event_date, locale)
    said = {
        "client": one_line(quote.client), "what": one_line(quote.event) or event_date,
        "quote_number": quote.quote_number, "event_date": event_date, "due_on": say_day(due.due_on, locale),
        "amount": say_amount(due.amount, quote.minor_units, locale), "currency": quote.currency,
        "firm": one_line(firm.firm),
        "contact": "\n".join(map(one_line, firm.contact_lines)),
        "bill_number": quote.bill.bill_number if due.towards == BILL and quote.bill else "",
    }  # fmt: skip
    said["greeting"] = words["greeting" if said["client"] else "greeting_without_a_name"].format(**said)
    subject, body = (words[f"{part}_{due.towards}"].format(**said) for part in ("subject", "body"))
    return compose(firm, reminder.address, subject, body, now)
