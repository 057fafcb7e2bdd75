"""The formulas of what stands at the head of a quote: what is bought, whether it can be had, what is due when.

Written apart from `contract.offer`, which says what they should come to.
"""

from collections.abc import Mapping, Sequence

from quotebook.contract.formulas import first_of, quoted, sentence
from quotebook.contract.note_formulas import FORBIDDING
from quotebook.contract.plan_block_formulas import Groups
from quotebook.contract.values import Words
from quotebook.contract.vocabulary import on_every_line, on_line
from quotebook.engine.model import LINES

LINE = {"cannot_#": f"IF(OR({','.join(FORBIDDING.values())}),1,0)"}

QUOTE = {
    "cannot": f"IF(OR(days_counted=0,surface_column=0,panels=0,SUM({','.join(on_every_line('cannot_#'))})>0),1,0)",
    "event_day": "IF(AND(SUM(event_date)>=61,SUM(event_date)<401769),INT(ROUND(SUM(event_date),6)),0)",
    "deposit_due": (
        "IF(deposit_days=0,0,IF(event_day>0,MIN(event_day,issued_on+deposit_days),issued_on+deposit_days))"
    ),
    "balance_due": "IF(event_day=0,0,MIN(event_day,MAX(event_day-balance_days,deposit_due,issued_on)))",
}
"""Figures of the head without money. The days counted as an event are those from 1 March 1900 to the end of 2999."""


def offer_formulas(words: Words, ground: Sequence[str], unit: str, address: str, groups: Groups = ()) -> dict[str, str]:
    """Every formula of the head by its defined name, without the leading `=`.

    `words` is the whole of a words file, `ground` a phrase for each surface, `unit` the card's unit of length,
    `address` where answers go, which may be empty, `groups` the lines of each floor that was issued as one of several.
    """
    said = words["offer"]
    lines = {on_line("floor_said_#", line): on_line(_floor(said, unit), line) for line in range(1, LINES + 1)}
    return _figures() | lines | {"bought": _bought(said, ground, unit, groups), "status": _status(said, address)}


def _figures() -> dict[str, str]:
    return {
        on_line(name, line): on_line(formula, line) for line in range(1, LINES + 1) for name, formula in LINE.items()
    } | QUOTE


def _floor(said: Mapping[str, str], unit: str) -> str:
    """A panel's name and, where its floor is priced, what that covers."""
    size = sentence(said["size"].replace("{unit}", unit), "{}_#")
    return f'IF(kind_row_#=0,"",INDEX(kinds_panel_name,kind_row_#)&IF(counted_#=1,{size},""))'


def edged(said: Mapping[str, str], line: int | str, end: str = "") -> str:
    """That a line's floor has edging, said once where it is of several lines; `end` stands behind names."""
    return f'IF(corners_{line}{end}>0,{quoted(said["edged"])},"")'


def _bought(said: Mapping[str, str], ground: Sequence[str], unit: str, groups: Groups) -> str:
    floors = {line: f"floor_said_{line}" for line in range(1, LINES + 1)}
    for first, *_ in groups:
        size = {side: f"{{floor_{side}_{first}}}" for side in ("width", "length")}
        whole = said["size"].format(actual_width=size["width"], actual_length=size["length"], unit=unit)
        several = f"INDEX(kinds_panel_name,kind_row_{first})&{sentence(said['several'] + whole)}"
        floors[first] = f"IF(plan_joined_{first}=1,{several},floor_said_{first})"
    first_floor = first_of(
        [(f"counted_{line}=1", f"{floor}&{edged(said, line)}") for line, floor in floors.items()], '""'
    )
    joined = "".join(f",-{len(group) - 1}*plan_joined_{group[0]}" for group in groups)
    count = f"SUM({','.join(on_every_line('counted_#'))}{joined}"
    before, after = said["more"].split("{more}")
    more = f'IF({count})>1,{quoted(before)}&{count},-1)&{quoted(after)},"")'
    where = first_of([(f"surface_column={number}", quoted(phrase)) for number, phrase in enumerate(ground, 1)], '""')
    return f"IF(panels=0,{quoted(said['nothing'])},{first_floor}&{more}&{where}&{quoted(said['laid'])})"


def _status(said: Mapping[str, str], address: str) -> str:
    """The first that holds: why it cannot be had, else what the client has answered."""
    before, after = said["floor"].split("{line}")
    return first_of(
        [
            ("days_counted=0", quoted(said["days"])),
            ("surface_column=0", quoted(said["surface"])),
            *((f"cannot_{line}=1", f"{quoted(f'{before}{line}{after}')}&notes_{line}") for line in range(1, LINES + 1)),
            ("panels=0", quoted(said["no_floor"])),
            ('AND(accepted=word_yes,accepted_by<>"")', f"{quoted(said['accepted_by'])}&accepted_by"),
            ("accepted=word_yes", quoted(said["accepted"])),
            ("accepted=word_no", quoted(said["declined"])),
        ],
        quoted(open_status(said, address)),
    )


def open_status(said: Mapping[str, str], address: str) -> str:
    """What a quote says that nobody has answered yet."""
    return said["open_to"].replace("{address}", address) if address else said["open"]
