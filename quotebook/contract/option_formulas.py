"""The formulas of a quote that offers options: which lines count, and what each option comes to.

The formulas of the price stay as they are. In place of the entries of a floor line they read those of the lines that
count; and each option has all of them once more, with its letter behind every name and in place of the pick.
"""

from collections.abc import Iterable, Mapping, Sequence

from quotebook.contract import formulas, note_formulas, offer_formulas
from quotebook.contract.formulas import first_of, over_lines, quoted
from quotebook.contract.values import Words
from quotebook.contract.vocabulary import on_every_line, on_line
from quotebook.engine.model import LINES, OPTIONS
from quotebook.spreadsheets.formula_text import all_dependents, readers_of, renamed

_COUNTS = 'OR(option_#="",option_#=picked)'
LEFT_OUT = 'AND(option_#<>"",option_#<>picked)'
"""Whether a floor line belongs to the option that is picked, or to every one; and whether it is left out."""

LINE = {
    "panel_picked_#": f'IF(AND({_COUNTS},panel_#<>""),panel_#,"")',
    "width_picked_#": f"IF({_COUNTS},SUM(width_#),0)",
    "length_picked_#": f"IF({_COUNTS},SUM(length_#),0)",
}
"""The entries of a floor line, where it counts."""

_BLANK = on_every_line('option_#=""')
_PICKED = on_every_line('AND(option_#<>"",option_#=picked)')

QUOTE = {
    "pick_needed": f"IF(OR(AND({','.join(_BLANK)}),{','.join(_PICKED)}),0,1)",
}
"""Whether none of the options is picked."""

PLAN = {
    "plan_line_followed": (
        f"IF(OR({','.join(on_line(f'AND(plan_line={line},{LEFT_OUT})', line) for line in range(1, LINES + 1))}),"
        + first_of([(f"counted_{line}=1", str(line)) for line in range(1, LINES + 1)], "plan_line")
        + ",plan_line)"
    ),
}
"""The floor line that the plan draws, which follows the pick."""

_READ_INSTEAD = {
    on_line(f"{entry}_#", line): on_line(f"{entry}_picked_#", line)
    for entry in ("panel", "width", "length")
    for line in range(1, LINES + 1)
} | {"plan_line": "plan_line_followed"}

SUFFIXED = (*formulas.LINE, *LINE, *offer_formulas.LINE, "notes_#", "floor_said_#")
"""The figures of a floor line that every option has for itself."""


def suffix(option: str) -> str:
    """What stands behind the names of an option's own figures."""
    return f"_{option.lower()}"


def without_suffix(name: str) -> tuple[str, str]:
    """The name of a figure without the suffix of an option, and the option's letter; no letter for any other name."""
    option = next((option for option in OPTIONS if name.endswith(suffix(option))), "")
    return name.removesuffix(suffix(option)) if option else name, option


def with_options(found: Mapping[str, str], words: Words, options: Sequence[str]) -> dict[str, str]:
    """The formulas of a quote that offers options, by defined name; `found` are those of one without.

    `words` is the whole of a words file.
    """
    own = {on_line(name, line): on_line(text, line) for name, text in LINE.items() for line in range(1, LINES + 1)}
    noted = note_formulas.notes(words["notes"], {"not_picked": LEFT_OUT})
    whole = {name: renamed(formula, _READ_INSTEAD) for name, formula in {**found, **noted}.items()} | own | QUOTE | PLAN
    pick = quoted(pick_said(words, options))
    whole["cannot"] = f"IF(pick_needed=1,1,{whole['cannot']})"
    whole["status"] = f"IF(AND(days_counted>0,surface_column>0,pick_needed=1),{pick},{whole['status']})"
    repeated = own_figures(whole)
    for option in options:
        others = {name: f"{name}{suffix(option)}" for name in repeated} | {"picked": f'"{option}"'}
        whole |= {others[name]: renamed(whole[name], others) for name in repeated}
        whole |= {f"option_said{suffix(option)}": _said(words["offer"], option)}
        whole |= {f"option_note{suffix(option)}": _note(words["option"], option)}
    hours = [f"setup_hours{suffix(option)}" for option in options]
    return whole | {"quickest_hours": f"MIN({','.join(f'IF({each}>0,{each},1000000)' for each in hours)})"}


def own_figures(found: Iterable[str]) -> list[str]:
    """The figures, out of those of a quote with options, that every option has for itself: all that rest on the pick,
    but for the suggested size, the plan and the head."""
    price = {name: formulas.FORMULAS.get(name, "") for name in formulas.QUOTE if not name.startswith("suggested_")}
    resting = all_dependents(readers_of(price), on_every_line(*formulas.LINE))
    return [name for name in found if name in resting or name in _ON_LINES or name in ("pick_needed", "cannot")]


_ON_LINES = frozenset(on_every_line(*SUFFIXED))


def pick_said(words: Words, options: Sequence[str]) -> str:
    """What a quote says of which no option is picked."""
    return words["option"]["pick"].format(options=", ".join(options))


def _said(said: Mapping[str, str], option: str) -> str:
    """The floors of an option, one after another, without those that belong to every option."""
    end = suffix(option)
    floors = {line: f"floor_said_{line}{end}" for line in range(1, LINES + 1)}
    return "&".join(
        f'IF(AND(option_{line}="{option}",{floor}<>""),{floor}&{offer_formulas.edged(said, line, end)}&". ","")'
        for line, floor in floors.items()
    )


def _note(said: Mapping[str, str], option: str) -> str:
    """What to note of an option: why it cannot be had, or else what it needs more than the others."""
    end = suffix(option)
    why = [(f"cannot_{line}{end}=1", f"notes_{line}{end}") for line in range(1, LINES + 1)]
    before, after = said["longer"].split("{hours}")
    more = f"setup_hours{end}-quickest_hours"
    notes = (
        f'IF({over_lines(f"sheets_#{end}")}>0,{quoted(said["subfloor"])},"")',
        f'IF(ROUND({more},6)>0,{quoted(before)}&{formulas.in_words(more)}&{quoted(after)},"")',
        f'IF(AND(panels{end}>0,dancers>standing_room{end}),{quoted(said["crowded"])},"")',
    )
    return first_of([*why, (f"setup_hours{end}=0", '""')], "&".join(notes))
