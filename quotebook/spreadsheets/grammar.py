"""Holds a part of a file against a table of what may stand in it, and notes everything else.

A table (`xlsx_sheet_table`, `xlsx_book_tables`, `ods_tables`) has an entry for each element: its name, its
attributes, and after `>` what may stand in it, each at most once or, with a `*`, any number of times. Lines that
begin with a space continue the entry above, and those that begin with `#` are comments. `TEXT` stands for text, `ANY`
for whatever belongs to other namespaces than the table's own, and `ALL` for whatever there is, attributes included.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from quotebook.spreadsheets.cells import CellAddress, Sheet, Unknown, look_of
from quotebook.spreadsheets.formula_text import names_in, words_with_capitals

if TYPE_CHECKING:
    from lxml.etree import _Element

MOST_PLACES = 5_000
"""Places in one part at which unknown content is looked for further: it would be told no differently for more."""
MOST_UNKNOWN = 20
"""Kinds of unknown content that are noted one by one: a file with more was not made to be read."""


@dataclass(slots=True, eq=False)
class Rule:
    """What may stand at and in an element."""

    attributes: frozenset[str]
    single: frozenset[str]
    """The children that may stand in it once."""
    has_text: bool
    is_open: bool
    """Whether anything of another namespace may stand in it."""
    is_skipped: bool
    """Whether anything at all may stand at it and in it."""
    below: "dict[str, Rule]"
    """The rule of each child that may stand in it."""


class Unknowns:
    """What was found in a file that is not known, each kind once, with the first place and a count."""

    def __init__(self) -> None:
        self._found: dict[tuple[str, str], Unknown] = {}
        self.times = 0
        """How often something was noted, told or not."""

    def note(self, what: str, part: str, sheet: str = "", cell: str = "") -> None:
        """Notes what stands in a part; `sheet` and `cell` say where, as far as that is known."""
        self.times += 1
        earlier = self._found.get((what, part))
        if earlier:
            self._found[what, part] = earlier._replace(times=earlier.times + 1)
        elif len(self._found) < MOST_UNKNOWN:
            self._found[what, part] = Unknown(what, part, sheet, cell)

    def hold_looks(self, names: Iterable[str], part: str) -> None:
        """Notes names that differ and that some program takes for one; `names` are in lower case."""
        looks: dict[str, str] = {}
        names = list(names)
        for name in names if not all(map(str.isascii, names)) else ():
            if looks.setdefault(look_of(name), name) != name:
                self.note(f"the name {name[:40]!r}, which looks like another", part)

    def hold_spelling(self, spelling: "Spelling", sheets: Iterable[Sheet], part: str) -> None:
        """Notes formulas that spell a defined name with other letters, small or capital: Gnumeric does not find it."""
        for sheet in sheets:
            for at, (_, formula) in sheet.cells.items():
                if formula and spelling.differs_in(formula):
                    place = CellAddress(sheet.name, *at).cell
                    self.note("a formula that spells a name with other letters", part, sheet.name, place)

    def __iter__(self) -> Iterator[Unknown]:
        return iter(self._found.values())


class Spelling:
    """How a workbook spells the names that it defines."""

    def __init__(self, names: Iterable[str]):
        self._defined = {name.lower(): name for name in names}
        self._with_capitals = {lower for lower, name in self._defined.items() if name != lower}

    def differs_in(self, formula: str) -> bool:
        """Whether a formula spells a name otherwise than it is defined."""
        if self._with_capitals and not self._with_capitals.isdisjoint(names_in(formula)):
            return True
        words = words_with_capitals(formula)
        return bool(words) and any(self._defined.get(word.lower(), word) != word for word in words)


class Grammar:
    """The table of a kind of part, with its names written out in full."""

    def __init__(self, table: str, namespaces: Mapping[str, str]):
        """`namespaces` gives the namespace of each prefix; that of "" is the one of elements without a prefix."""
        self._namespaces = namespaces
        self._own = f"{{{namespaces['']}}}"
        self._prefixes = {namespace: prefix for prefix, namespace in reversed([*namespaces.items()])}
        entries = [self._entry(entry) for entry in _entries(table)]
        self.rules = {name: rule for name, rule, _ in entries}
        for _, rule, children in entries:
            rule.below.update((child, self.rules[child]) for child in children)

    def _entry(self, entry: str) -> tuple[str, Rule, list[str]]:
        """An element of the table, its rule, and what may stand in it."""
        head, _, inside = entry.partition(">")
        name, *attributes = head.split()
        words = inside.split()
        children = [word for word in words if word not in ("TEXT", "ANY", "ALL")]
        rule = Rule(
            frozenset(self._full(word) if ":" in word else word for word in attributes),
            frozenset(self._full(word) for word in children if not word.endswith("*")),
            "TEXT" in words,
            "ANY" in words,
            "ALL" in words,
            {},
        )
        return self._full(name), rule, [self._full(word.rstrip("*")) for word in children]

    def _full(self, name: str) -> str:
        """A name with its namespace, as lxml writes it."""
        prefix, _, local = name.rpartition(":")
        return f"{{{self._namespaces[prefix]}}}{local}"

    def unknown_in(self, root: "_Element") -> "list[tuple[_Element, str]]":
        """Each element at which something stands that the table does not have, and what that is."""
        rule = self.rules.get(root.tag)
        found: list[tuple[_Element, str]] = []
        if rule is None:
            found.append((root, f"element {self.short(root.tag)}"))
        else:
            self._walk(root, rule, found)
        return found

    def _walk(self, element: "_Element", rule: Rule, found: "list[tuple[_Element, str]]") -> None:
        """Holds an element and what stands in it against a rule."""
        self._hold_itself(element, rule, found)
        seen: set[str] = set()
        for child in element:
            if len(found) > MOST_PLACES:
                return
            tag = child.tag
            below = rule.below.get(tag)
            if below is None:
                if not rule.is_open or self._reaches_in(child):
                    found.append((child, f"element {self.short(tag)} in {self.short(element.tag)}"))
            elif not len(child):  # most of the elements of a part, which have no need of a call of their own
                self._hold_itself(child, below, found)
            elif not below.is_skipped:
                self._walk(child, below, found)
            if tag in rule.single:
                if tag in seen:
                    found.append((child, f"a second {self.short(tag)} in {self.short(element.tag)}"))
                seen.add(tag)
            if not rule.has_text and (text := child.tail) and not text.isspace():
                found.append((element, f"text in {self.short(element.tag)}"))

    def _hold_itself(self, element: "_Element", rule: Rule, found: "list[tuple[_Element, str]]") -> None:
        """Holds the attributes of an element, and the text at its beginning, against a rule."""
        if not (rule.is_skipped or rule.attributes.issuperset(element.keys())):
            names = sorted({*map(str, element.keys())} - rule.attributes)
            found += ((element, f"attribute {self.short(name)} of {self.short(element.tag)}") for name in names)
        if not rule.has_text and (text := element.text) and not (text.isspace() or rule.is_skipped):
            found.append((element, f"text in {self.short(element.tag)}"))

    def _reaches_in(self, element: "_Element") -> bool:
        """Whether an element of another program's, or one in it, claims to be of the part's own namespace."""
        return any(str(each.tag).startswith(self._own) for each in element.iter())

    def short(self, name: str) -> str:
        """A name as the table writes it; of a namespace that the table has not, with the end of that."""
        namespace, _, local = str(name).rpartition("}")
        prefix = self._prefixes.get(namespace[1:], namespace[-30:]) if namespace else ""
        return f"{prefix}:{local[:40]}" if prefix else local[:40]


def _entries(table: str) -> Iterator[str]:
    """The entries of a table, each as one line."""
    entry = ""
    for line in table.splitlines():
        if line.startswith(" "):
            entry += line
        elif line and not line.startswith("#"):
            if entry:
                yield entry
            entry = line
    if entry:
        yield entry
