"""What the events of one quote come to: its life so far, and what may come next.

Plain functions over the details of events (`events.details_of`), with no ledger in sight. What is
recorded is never erased: an event that was taken back stays in the list, and stops counting.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from quotebook.errors import Misuse
from quotebook.ledger.bills import Bill, bill_of, must_stand, standing_bill
from quotebook.ledger.events import Details, Loss, losses_of
from quotebook.ledger.payments import Payment, is_new, payment_of
from quotebook.ledger.states import BOOKED, next_state

CAN_BE_UNDONE = ("agreed", "cancelled", "delivered", "counted back", "declined", "paid")
"""Events that `undone` takes back. A workbook that was issued is out, and a file that came back has come back; a bill
is taken back by a credit note."""


class NumberTaken(Misuse):
    """A quote with this number and revision was issued by another desk, or has another workbook."""


@dataclass(frozen=True)
class Agreement:
    """What was agreed last: a revision, as the file of this digest has it. Moments in UTC, or None."""

    revision: int
    sha256: str
    agreed_at: str
    delivered_at: str | None = None
    counted_back_at: str | None = None
    cancelled_at: str | None = None
    losses: frozenset[Loss] = frozenset()
    picked: str = ""
    """The letter of the option that was agreed; empty for a quote without options."""


@dataclass(frozen=True)
class Life:
    """What is known of one quote."""

    issued: Mapping[int, Details] = field(default_factory=dict)
    """The event that issued each revision."""
    returned: frozenset[str] = frozenset()
    """The digests of the files that came back."""
    agreement: Agreement | None = None
    states: Mapping[int, str] = field(default_factory=dict)
    """The state of each revision, one of `states.STATES`."""
    reasons: Mapping[int, str] = field(default_factory=dict)
    """Why each revision was declined, if it was."""
    payments: tuple[Payment, ...] = ()
    bills: tuple[Bill, ...] = ()
    """Bills and credit notes."""

    @property
    def holding(self) -> Agreement | None:
        """The agreement for which stock is held; None if nothing is agreed, or it was cancelled."""
        return self.agreement if self.agreement and not self.agreement.cancelled_at else None


def life_of(events: Iterable[Details]) -> Life:
    """The life that events come to, in their order. What cannot follow what was before it does not count."""
    life = Life()
    for event in without_undone(events):
        try:
            life = follow(life, event)
        except Misuse:
            continue
    return life


def must_be_issued(life: Life, event: Details) -> None:
    """Raises Misuse if what came back, or is to be agreed, was never issued as far as the ledger knows.

    That is asked when an event is recorded, and not when a life is told: of several desks with one
    ledger, one may put its agreements back before another has put back what it issued.
    """
    if event["event"] in ("returned", "agreed", "declined", "paid", "billed") and event["revision"] not in life.issued:
        raise Misuse(
            f"{_revision_named(event)} is not in the ledger as issued. If this desk issued it, run quotebook rebuild."
        )


def must_leave_bill(life: Life, after: Life, number: str) -> None:
    """Raises Misuse if a bill stands, and what it rests on would be another than before.

    That is the agreement, its cancellation, and what did not come back by a count that there was. It is asked when an
    event is recorded, and not when a life is told: earlier versions did not ask.
    """
    bill = standing_bill(life.bills)
    if (
        bill
        and life.agreement
        and _rests_on(life.agreement, life.agreement) != _rests_on(after.agreement, life.agreement)
    ):
        raise Misuse(
            f"{number}: found bill {bill.bill_number}, which rests on what would change; allowed: no bill that stands. "
            f"Take it back first (quotebook bill {number} --credit)."
        )


def _rests_on(agreement: Agreement | None, before: Agreement) -> tuple[object, ...] | None:
    """What a bill rests on; what is lost only if it was counted before."""
    if agreement is None:
        return None
    losses = agreement.losses if before.counted_back_at else None
    return agreement.revision, agreement.sha256, bool(agreement.cancelled_at), losses


def follow(life: Life, event: Details) -> Life:
    """The life after one more event; the same life if it was recorded already. Raises Misuse if it cannot follow."""
    after = _FOLLOWERS[event["event"]](life, event)
    if after is life:
        return life
    state = next_state(life.states.get(event["revision"], ""), event["event"])
    return replace(after, states={**life.states, event["revision"]: state})


def without_undone(events: Iterable[Details]) -> list[Details]:
    """Events without those that were taken back, and without the taking back."""
    standing: list[Details] = []
    for event in events:
        if event["event"] != "undone":
            standing.append(event)
            continue
        taken_back = event["undone_event"], event["undone_at"]
        found = [place for place, each in enumerate(standing) if (each["event"], each["at"]) == taken_back]
        for place in found[-1:]:
            del standing[place]
    return standing


def last_to_undo(events: Sequence[Details]) -> Details | None:
    """The last event that can be taken back and was not; None if there is none."""
    standing = [event for event in without_undone(events) if event["event"] in CAN_BE_UNDONE]
    return standing[-1] if standing else None


def _issued(life: Life, event: Details) -> Life:
    recorded = life.issued.get(event["revision"])
    if recorded is None:
        return replace(life, issued={**life.issued, event["revision"]: event})
    if any(recorded.get(name, "") != event.get(name, "") for name in ("desk", "sha256")):
        raise NumberTaken(
            f"{_revision_named(event)} is in the ledger with another workbook, and a number is used once: "
            "issue it anew."
        )
    return life


def _returned(life: Life, event: Details) -> Life:
    if event["sha256"] in life.returned:
        return life
    return replace(life, returned=life.returned | {event["sha256"]})


def _agreed(life: Life, event: Details) -> Life:
    agreed = Agreement(event["revision"], event["sha256"], event["at"], picked=event.get("picked", ""))
    before = life.agreement
    if life.holding and (life.holding.revision, life.holding.sha256) == (agreed.revision, agreed.sha256):
        return life
    if before and before.delivered_at:
        raise Misuse(f"{_delivered_named(event, before)}: another hire needs a new quote.")
    return replace(life, agreement=agreed)


def _delivered(life: Life, event: Details) -> Life:
    agreement = _must_be_agreed(life, event)
    return life if agreement.delivered_at else replace(life, agreement=replace(agreement, delivered_at=event["at"]))


def _counted_back(life: Life, event: Details) -> Life:
    agreement, losses = _must_be_agreed(life, event), frozenset(losses_of(event))
    if not agreement.delivered_at:
        raise Misuse(f"{event['quote_number']} is not recorded as delivered: do that first (quotebook deliver).")
    if agreement.counted_back_at and agreement.losses == losses:
        return life
    return replace(life, agreement=replace(agreement, counted_back_at=event["at"], losses=losses))


def _cancelled(life: Life, event: Details) -> Life:
    if life.agreement and life.agreement.cancelled_at:
        return life
    agreement = _must_be_agreed(life, event)
    if agreement.counted_back_at:
        raise Misuse(f"{event['quote_number']} was counted back, and a hire that is over is not cancelled.")
    if agreement.delivered_at:
        raise Misuse(f"{_delivered_named(event, agreement)}: count it back instead of cancelling it.")
    return replace(life, agreement=replace(agreement, cancelled_at=event["at"]))


def _declined(life: Life, event: Details) -> Life:
    number, revision = event["quote_number"], event["revision"]
    state = life.states.get(revision)
    gave_way = state in BOOKED  # to the agreement of another revision
    if life.holding and (life.holding.revision >= revision or gave_way):
        raise Misuse(f"{number} is agreed: cancel it instead (quotebook cancel {number}).")
    if state == "cancelled" or gave_way:
        raise Misuse(f"{number} is cancelled already, and there is nothing to decline.")
    if state == "declined" and life.reasons.get(revision) == event["because"]:
        return life
    return replace(life, reasons={**life.reasons, revision: event["because"]})


def _paid(life: Life, event: Details) -> Life:
    payment = payment_of(event)
    currencies = [issued["currency"] for issued in life.issued.values()]
    if not is_new(payment, life.payments, currencies[0] if currencies else payment.currency):
        return life
    return replace(life, payments=(*life.payments, payment))


def _billed(life: Life, event: Details) -> Life:
    bill = bill_of(event)
    return replace(life, bills=(*life.bills, bill)) if must_stand(bill, life.bills) else life


_FOLLOWERS: Mapping[str, Callable[[Life, Details], Life]] = {
    "issued": _issued, "returned": _returned, "agreed": _agreed,
    "delivered": _delivered, "counted back": _counted_back, "cancelled": _cancelled,
    "declined": _declined, "paid": _paid, "billed": _billed,
}  # fmt: skip
"""What each event makes of a life; the same object where it was recorded already."""


def _revision_named(event: Details) -> str:
    return f"{event['quote_number']} revision {event['revision']}"


def _delivered_named(event: Details, agreement: Agreement) -> str:
    return f"{event['quote_number']} was delivered on {(agreement.delivered_at or '')[:10]}"


def _must_be_agreed(life: Life, event: Details) -> Agreement:
    """The quote's agreement. Raises Misuse if this revision is not agreed, or was cancelled."""
    agreement = life.holding
    if not agreement:
        cancelled_at = life.agreement and life.agreement.cancelled_at
        state = f"was cancelled on {cancelled_at[:10]}" if cancelled_at else "is not agreed"
        raise Misuse(f"{event['quote_number']} {state}: agree its file first (quotebook agree FILE).")
    if agreement.revision != event["revision"]:
        raise Misuse(f"{event['quote_number']} is agreed as revision {agreement.revision}, not {event['revision']}.")
    return agreement
