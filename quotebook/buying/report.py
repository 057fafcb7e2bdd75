"""Says what to buy, in words and as JSON."""

from collections.abc import Iterator
from decimal import Decimal
from textwrap import wrap

from quotebook.buying.answer import Answer
from quotebook.buying.best import Purchase
from quotebook.buying.purchases import KindSteps, Step
from quotebook.buying.redraws import Band, Redrawn
from quotebook.buying.sources import counted
from quotebook.contract.local import Local, local_for
from quotebook.engine.money import ZERO, plain, round6
from quotebook.text_table import WIDTH, table

HEADINGS = (
    "Owned", "Served", "Refused", "Added", "Earned", "Crew", "Hours", "Present value", "Return", "Months",
)  # fmt: skip


def say_answer(answer: Answer) -> Iterator[str]:
    """Each kind's steps and what they say, the best purchase, the busiest days, and what is assumed."""
    currency, name, local = answer.card.firm.currency, answer.question.name, local_for(answer.card.firm)
    yield from _wrapped(
        f"{name}: {len(answer.season)} requests ({', '.join(counted([*answer.season]))}), played in the order in which "
        f"they came. {currency}, before tax."
    )
    for place, found in enumerate(answer.kinds):
        kind = found.kind
        yield ""
        yield f"{kind.code}, {kind.step} at a time, {local.amount(kind.price)} each, for {kind.life_years} years"
        yield from table(HEADINGS, [_row(step, local) for step in _worth_showing(found)], left=0)
        yield from _wrapped(sentence(found, name))
        if answer.redrawn:
            yield from _wrapped(say_band(found, answer.redrawn[place], answer.question.redraws, local))
    if answer.purchase:
        yield ""
        yield from _wrapped(say_purchase(answer.purchase, answer))
    yield ""
    yield from say_busiest(answer)
    yield ""
    yield from _wrapped(say_assumptions(answer))


def _wrapped(text: str) -> list[str]:
    return wrap(text, WIDTH)


def _worth_showing(found: KindSteps) -> tuple[Step, ...]:
    """The steps up to the last that adds anything, and one more."""
    steps = found.steps
    changing = (
        place for place in range(1, len(steps)) if steps[place].added or steps[place].gain != steps[place - 1].gain
    )
    last = max(changing, default=0)
    return found.steps[: max(last, found.best) + 2]


def _row(step: Step, local: Local) -> list[str]:
    worth, counts = step.worth, (step.owned, step.served, step.refused, step.added)
    rate, months = worth.internal_rate_of_return, worth.months_to_pay_back
    return [
        *map(str, counts),
        *(local.amount(round(amount, 0)) for amount in (step.earned, step.crew_paid, step.crew_hours)),
        local.amount(round(worth.net_present_value, 0)),
        "-" if rate is None else f"{local.amount(round(rate * 100, 0))} %",
        "-" if months is None else local.amount(round(months, 1)),
    ]


def sentence(found: KindSteps, season: str) -> str:
    """What the steps of one kind say: what the best purchase adds, and what the step after it would."""
    best, code = found.steps[found.best], found.kind.code
    following = found.steps[found.best + 1] if found.best + 1 < len(found.steps) else None
    if not best.bought:
        if following is None or not following.gain:
            return f"No more {code}: {found.kind.step} more would have served no more hires in {season}."
        return f"No more {code}: {_more(following, code, season)} and {_pay(following.last_step.months_to_pay_back)}."
    said = f"{_more(best, code, season)} and {_pay(best.worth.months_to_pay_back)}"
    if following is None:
        return f"{said}; more than that was not looked at (--steps)."
    months = following.last_step.months_to_pay_back
    further = "would not pay back in their life" if months is None else f"only in {_months(months)}"
    return f"{said}; a further {found.kind.step} {further}."


def _more(step: Step, code: str, season: str) -> str:
    """What a purchase adds: hires, or more money from as many where it serves requests in a kind that leaves more."""
    if step.more <= 0:
        return f"{step.bought} more {code} would have served no more hires in {season} but left more,"
    return f"{step.bought} more {code} would have served {hires(step.more)} in {season}"


def hires(count: int) -> str:
    """So many more hires, in words."""
    return f"{count} more hire" + ("" if count == 1 else "s")


def _pay(months: Decimal | None) -> str:
    return "do not pay back in their life" if months is None else f"pay back in {_months(months)}"


def _months(months: Decimal) -> str:
    count = int(months.to_integral_value("ROUND_CEILING"))
    return f"{count} month" + ("s" if count != 1 else "")


def say_band(found: KindSteps, again: Redrawn, times: int, local: Local) -> str:
    """How sure the figures of the best purchase are, or of the first step where nothing pays."""
    place = max(1, found.best)
    step, bands = found.steps[place], again.steps[place]
    served, value, months = bands["served"], bands["net_present_value"], bands["months_to_pay_back"]
    paid = [("never" if each is None else local.amount(round(each, 1))) for each in months]
    return (
        f"The season drawn again {times} times, with {step.owned} {found.kind.code} (worst tenth, middle, best tenth): "
        f"{_whole(served, local)} served, present value {_whole(value, local)}, months {' / '.join(paid)}."
    )


def _whole(band: Band, local: Local) -> str:
    return " / ".join("-" if each is None else local.amount(round(each, 0)) for each in band)


def say_purchase(purchase: Purchase, answer: Answer) -> str:
    """The best purchase, what it leaves, and whether every purchase was played."""
    currency, local = answer.card.firm.currency, local_for(answer.card.firm)
    budget = local.amount(answer.question.budget or ZERO)
    how = (
        f"Exact: all {purchase.played} purchases of whole steps within the budget were played."
        if purchase.exact
        else f"Looked for among {purchase.played} purchases, not all that there are: a better one may exist."
    )
    if not purchase.bought:
        return f"Within {currency} {budget} no purchase leaves more than it costs. {how}"
    bought = ", ".join(f"{panels} {code}" for code, panels in purchase.bought.items())
    return (
        f"Within {currency} {budget} buy {bought}, for {local.amount(purchase.cost)}: {hires(purchase.added)}, "
        f"{local.amount(purchase.gain)} more a year, of which {local.amount(purchase.left_a_year)} are left when the "
        f"panels are paid for over their lives. {how}"
    )


def say_busiest(answer: Answer) -> Iterator[str]:
    """The busiest days with what is owned, and what they would have needed."""
    codes, local = answer.question.codes, local_for(answer.card.firm)
    yield "Busiest days with what is owned: floors out, refused, panels needed if none were"
    rows = [
        [local.short_day(day.day), str(day.floors), str(day.refused), *(str(day.needed[code]) for code in codes)]
        for day in answer.busiest
    ]
    yield from table(("Day", "Out", "Refused", *codes), rows)
    owned = answer.card.holdings
    yield f"Owned: {', '.join(f'{owned[code].owned} {code}' for code in codes)}"


def say_assumptions(answer: Answer) -> str:
    """What the figures rest on."""
    assumed, local = answer.question.assumed, local_for(answer.card.firm)
    order = "the order named" if answer.question.preferred else "the order of what they leave"
    kinds = "" if len(answer.kinds) == 1 else f" Kinds are tried in {order}."
    return (
        "Assumed: a request is served by whatever is free and may go on its ground, and those that were lost would "
        f"have been hires.{kinds} Edging and subfloor are as owned; carts, vehicle and crew are not limited. Earned is "
        "hire, edging, subfloor and labour, net of discount; delivery, waiver and tax are left out. A crew member "
        f"costs {local.amount(assumed.crew_cost)} an hour, money earns {local.number(assumed.discount_rate * 100)} % a "
        "year. Next season's requests, and those of every year after it, are like these."
    )


def to_json(answer: Answer) -> dict[str, object]:
    """The answer as JSON: counts as numbers, money, rates and months as text, null where nothing pays back."""
    question, assumed = answer.question, answer.question.assumed
    return {
        "season": question.name,
        "currency": answer.card.firm.currency,
        "requests": [
            {
                "name": asked.name,
                "day": str(asked.day),
                "surface": asked.request.surface,
                "days": int(asked.request.days or 0),
                "floors": [_floor_as_json(line.width, line.length) for line in asked.request.lines],
                "outcome": asked.outcome,
                "why": asked.why,
            }
            for asked in answer.season
        ],
        "crew_cost": plain(assumed.crew_cost),
        "discount_rate": plain(assumed.discount_rate),
        "redraws": question.redraws,
        "seed": question.seed,
        "kinds": [
            _kind_as_json(found, answer.redrawn[place] if answer.redrawn else None, question.name)
            for place, found in enumerate(answer.kinds)
        ],
        "best_purchase": None if answer.purchase is None else _purchase_as_json(answer.purchase),
        "busiest_days": [{**vars(day), "day": str(day.day)} for day in answer.busiest],
    }


def _floor_as_json(width: Decimal | None, length: Decimal | None) -> str:
    return "x".join(plain(side) for side in (width, length) if side is not None)


def _kind_as_json(found: KindSteps, again: Redrawn | None, season: str) -> dict[str, object]:
    best = found.steps[found.best]
    return {
        "kind": found.kind.code,
        "price": f"{found.kind.price:f}",
        "life_years": found.kind.life_years,
        "step": found.kind.step,
        "enough": best.owned,
        "answer": sentence(found, season),
        "steps": [
            _step_as_json(step) | ({"redrawn": _bands_as_json(again.steps[place])} if again else {})
            for place, step in enumerate(found.steps)
        ],
    }


def _step_as_json(step: Step) -> dict[str, object]:
    return {
        "owned": step.owned,
        "bought": step.bought,
        "cost": f"{step.cost:f}",
        "served": step.served,
        "refused": step.refused,
        "short_of_other_than_panels": step.short_of_other_than_panels,
        "added": step.added,
        "earned": f"{step.earned:f}",
        "crew_paid": f"{step.crew_paid:f}",
        "crew_hours": plain(round6(step.crew_hours)),
        "gain": f"{step.gain:f}",
        **{name: _text(value) for name, value in step.worth._asdict().items()},
        "last_step": {name: _text(value) for name, value in step.last_step._asdict().items()},
    }


def _bands_as_json(bands: dict[str, Band]) -> dict[str, object]:
    return {name: {part: _text(value) for part, value in band._asdict().items()} for name, band in bands.items()}


def _text(value: Decimal | None) -> str | None:
    return None if value is None else plain(round6(value))


def _purchase_as_json(purchase: Purchase) -> dict[str, object]:
    return {
        "bought": purchase.bought,
        "cost": f"{purchase.cost:f}",
        "served": purchase.served,
        "added": purchase.added,
        "gain": f"{purchase.gain:f}",
        "left_a_year": f"{purchase.left_a_year:f}",
        "exact": purchase.exact,
        "played": purchase.played,
    }
