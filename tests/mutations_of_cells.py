"""What may be done to the cells of an .xlsx so that programs may read something else in them than was issued."""

import copy

from lxml import etree
from mutating import (
    BOOK,
    FALSE,
    MAIN,
    MC,
    NAMESPACES,
    STRICT,
    STRINGS,
    X14,
    M,
    put_beside,
    twin_of,
)

# fmt: off  (lists of spellings are wrapped by hand)


def cell_twice(p):
    cell = p.cell()
    twin = p.pick([twin_of(p, cell), copy.deepcopy(cell)])
    if p.chance.random() < 0.3:
        for child in list(twin):
            twin.remove(child)
    reference = cell.get("r")
    twin.set("r", p.pick([reference, reference.lower(), f"${reference}", reference[0] + "0" + reference[1:]]))
    if p.chance.random() < 0.2:
        del twin.attrib["r"]
    put_beside(p, cell, twin)


def cell_elsewhere(p):
    """A cell put into another row, or at another place of the sheet, under its own address."""
    cell = p.cell()
    root = cell.getroottree().getroot()
    twin = twin_of(p, cell)
    target = p.pick([*root.iter(f"{M}row"), root, *root.iter(f"{M}sheetData"), p.pick(root.iter(f"{M}c"))])
    target.insert(p.chance.randint(0, len(target)), twin)
    if p.chance.random() < 0.5:
        cell.getparent().remove(cell)


def reference_respelled(p):
    cell = p.cell()
    r = cell.get("r")
    letters, digits = r.rstrip("0123456789"), r.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    cell.set(
        "r",
        p.pick(
            [
                r.lower(),
                f" {r}",
                f"{r} ",
                f"${letters}${digits}",
                f"{letters}0{digits}",
                f"{r}:{r}",
                f"Quote!{r}",
                f"R{digits}C1",
                f"{letters}{int(digits) + 1}",
                f"_x0041_{digits}",
                "",
            ]
        ),
    )


def row_twice(p):
    cell = p.cell()
    row = cell.getparent()
    twin = p.pick([copy.deepcopy(row), etree.Element(f"{M}row", r=row.get("r"))])
    if len(twin):
        twin.replace(twin[row.index(cell)], twin_of(p, cell))
    else:
        twin.append(twin_of(p, cell))
    if p.chance.random() < 0.3:
        del twin.attrib["r"]
    put_beside(p, row, twin)


def row_renumbered(p):
    row = p.cell().getparent()
    number = int(row.get("r"))
    row.set("r", p.pick([str(number + 1), str(number - 1), f" {number}", f"0{number}", f"{number}.0", "x", "", "٣"]))
    if p.chance.random() < 0.4:
        for cell in row:
            cell.attrib.pop("r", None)


def block_twice(p):
    root = p.sheet()
    data = root.find(f"{M}sheetData")
    twin = etree.Element(f"{M}sheetData")
    cell = p.pick(cell for cell in data.iter(f"{M}c") if len(cell))
    etree.SubElement(twin, f"{M}row", r=cell.getparent().get("r")).append(twin_of(p, cell))
    put_beside(p, data, twin)


def other_namespace(p):
    """An element under another namespace, or a twin of it."""
    cell = p.cell()
    element = p.pick([cell, *cell, cell.getparent(), cell.getparent().getparent()])
    namespace = p.pick(NAMESPACES)
    local = etree.QName(element).localname
    tag = f"{{{namespace}}}{local}" if namespace else local
    if p.chance.random() < 0.5 and element.tag != f"{M}sheetData":
        twin = copy.deepcopy(element)
        for each in [twin, *twin.iter(f"{M}v")]:
            if etree.QName(each).localname == "v":
                each.text = FALSE
        twin.tag = tag
        put_beside(p, element, twin)
    else:
        element.tag = tag


def root_namespace(p):
    """A whole part under the other namespace, or under a prefix."""
    part = p.pick(
        [name for name in p.parts if name.startswith("xl/") and name.endswith(".xml") and "theme" not in name]
    )
    data = p.data(part)
    p.parts[part] = data.replace(MAIN.encode(), STRICT.encode())


def alternates(p):
    """Markup-compatibility alternates around what a program reads."""
    cell = p.cell()
    element = p.pick([cell, *cell, cell.getparent(), cell.getparent().getparent()])
    around = etree.Element(f"{{{MC}}}AlternateContent", nsmap={"mc": MC, "x14": X14})
    chosen = etree.SubElement(around, f"{{{MC}}}Choice", Requires=p.pick(["x14", "mc", "", "unknown"]))
    fallback = etree.SubElement(around, f"{{{MC}}}Fallback")
    changed = copy.deepcopy(element)
    for value in changed.iter(f"{M}v"):
        value.text = FALSE
    element.addprevious(around)
    if p.chance.random() < 0.5:
        (fallback if p.chance.random() < 0.5 else chosen).append(changed)
        if p.chance.random() < 0.5:
            element.getparent().remove(element)
    else:
        chosen.append(changed)
        fallback.append(element)


def child_inside(p):
    """Something inside a value, a formula or a text: an element, a comment, an instruction, character data."""
    cell = p.cell()
    element = p.pick(list(cell))
    text = element.text or ""
    half = len(text) // 2
    kind = p.chance.randint(0, 4)
    if kind == 0:
        inside = etree.SubElement(element, p.pick([f"{M}v", f"{M}t", f"{M}f", f"{M}r", "{urn:other}x"]))
        inside.text = FALSE
    elif kind == 1:
        inside = etree.Comment("x")
        element.insert(0, inside)
    elif kind == 2:
        inside = etree.ProcessingInstruction("x", "y")
        element.insert(0, inside)
    elif kind == 3:
        element.text = etree.CDATA(text or "1")
        return
    else:
        inside = etree.SubElement(element, "{urn:other}x")
    element.text, inside.tail = text[:half], text[half:]


def number_respelled(p):
    cell = p.pick(
        cell for cell in p.sheet().iter(f"{M}c") if cell.get("t", "n") == "n" and cell.findtext(f"{M}v") is not None
    )
    value = cell.find(f"{M}v")
    text = value.text
    arabic = text.translate({48 + digit: 0x660 + digit for digit in range(10)})
    wide = text.translate({48 + digit: 0xFF10 + digit for digit in range(10)})
    value.text = p.pick(
        [
            f" {text}",
            f"{text} ",
            f"\n{text}",
            arabic,
            wide,
            f"{text}_0",
            f"0x{text}",
            f"+{text}",
            f"{text}.",
            f"{text}e0",
            f"{text}E+0",
            text.replace(".", ","),
            f"{text},0",
            f"{text} 1",
            f"{text}\xa0",
            f"{text}d",
            f"{text}f",
            "INF",
            "NaN",
            "1e999",
            "",
            f"{text}%",
            f"${text}",
            f"--{text}",
            f"({text})",
            f"_x0031_{text}",
            f"0{text}",
            f"{text}{'0' * 400}",
            f"\u200b{text}",
            "1#",
            "true",
            f"{text}e",
            f"{text}e+",
        ]
    )


def other_type(p):
    cell = p.cell()
    cell.set(
        "t",
        p.pick(["n", "b", "d", "e", "s", "str", "inlineStr", "N", "S", "Str", " n", "n ", "", "z", "number", "float"]),
    )


def truth_respelled(p):
    cell = p.cell()
    cell.set("t", "b")
    cell.find(f"{M}v").text = p.pick(["1", "0", "true", "false", "TRUE", "on", "t", "yes", "2", "-1", " 1", "1.0", ""])


def day_respelled(p):
    cell = p.cell()
    cell.set("t", "d")
    cell.find(f"{M}v").text = p.pick(
        [
            "2027-06-12",
            "20270612",
            "2027-W24-6",
            "2027-06-12T00:00:00",
            "2027-06-12Z",
            "2027-06-12T00:00:00+05:00",
            "2027-06-12T24:00:00",
            "12/06/2027",
            "12:00:00",
            "2027-6-12",
            "46193",
            "2027-06-12T00:00",
            "1899-12-31",
            "2027-06-12T18:00:00Z",
        ]
    )


def escaped(p):
    """`_xHHHH_` in a text, a formula, a result or a name."""
    where = p.chance.randint(0, 3)
    if where == 0:
        element = p.pick(item for item in p.root(STRINGS).iter(f"{M}t") if item.text)
    elif where == 1:
        element = p.cell("f").find(f"{M}f")
    elif where == 2:
        element = p.pick(
            c.find(f"{M}v") for c in p.sheet().iter(f"{M}c") if c.get("t") == "str" and c.findtext(f"{M}v")
        )
    else:
        element = p.pick(p.root(BOOK).iter(f"{M}definedName"))
        if p.chance.random() < 0.5:
            name = element.get("name")
            element.set("name", f"_x{ord(name[0]):04X}_{name[1:]}")
            return
    at = p.chance.randrange(len(element.text))
    sign = element.text[at]
    element.text = (
        element.text[:at]
        + p.pick(
            [
                f"_x{ord(sign):04X}_",
                f"_x{ord(sign):04x}_",
                f"_X{ord(sign):04X}_",
                f"_x005F_x{ord(sign):04X}_",
                f"_x{ord(sign):X}_",
                f"_x000D_{sign}",
            ]
        )
        + element.text[at + 1 :]
    )


def two_values(p):
    """A value and an inline text in one cell, in either order, of any type."""
    cell = p.cell()
    inline = etree.Element(f"{M}is")
    etree.SubElement(inline, f"{M}t").text = FALSE
    if p.chance.random() < 0.5:
        cell.append(inline)
    else:
        cell.insert(0, inline)
    cell.set("t", p.pick(["s", "n", "str", "inlineStr"]))


def runs(p):
    """A text in runs that are not as they should be."""
    if p.chance.random() < 0.5:
        item = p.pick(item for item in p.root(STRINGS).iter(f"{M}si") if item.findtext(f"{M}t"))
    else:
        cell = p.pick(cell for cell in p.sheet().iter(f"{M}c") if cell.get("t") == "s")
        item = etree.Element(f"{M}is")
        etree.SubElement(item, f"{M}t").text = p.root(STRINGS)[int(cell.findtext(f"{M}v"))].findtext(f"{M}t")
        cell[:] = [item]
        cell.set("t", "inlineStr")
    plain = item.find(f"{M}t")
    text = plain.text
    kind = p.chance.randint(0, 7)
    if kind == 0:
        etree.SubElement(item, f"{M}t").text = FALSE
    elif kind == 1:
        etree.SubElement(etree.SubElement(item, f"{M}r"), f"{M}t").text = FALSE
    elif kind == 2:
        item[:] = [run := etree.Element(f"{M}r")]
        for piece in (text, FALSE):
            etree.SubElement(run, f"{M}t").text = piece
    elif kind == 3:
        etree.SubElement(etree.SubElement(item, f"{M}rPh", sb="0", eb="1"), f"{M}t").text = FALSE
    elif kind == 4:
        item[:] = [run := etree.Element(f"{M}r")]
        run.text = FALSE
        etree.SubElement(run, f"{M}t").text = text
    elif kind == 5:
        etree.SubElement(etree.SubElement(item, f"{M}rPh"), f"{M}r").append(copy.deepcopy(plain))
    elif kind == 6:
        plain.set("{http://www.w3.org/XML/1998/namespace}space", p.pick(["preserve", "default", "x"]))
        plain.text = f"  {text}\n"
    else:
        item.text = FALSE


def strings_moved(p):
    root = p.root(STRINGS)
    item = p.pick(root)
    kind = p.chance.randint(0, 4)
    if kind == 0:
        item.addprevious(copy.deepcopy(item))
    elif kind == 1:
        item.addprevious(etree.Comment("x"))
    elif kind == 2:
        item.tag = p.pick([f"{{{STRICT}}}si", "{urn:other}si", f"{M}SI"])
    elif kind == 3:
        item[:] = []
    else:
        around = etree.Element(p.pick([f"{{{MC}}}AlternateContent", "{urn:other}x", f"{M}extLst"]))
        item.addprevious(around)
        around.append(item)


def formula_spread(p):
    """Array and shared formulas, tables of results: what lets one cell fill another."""
    cell = p.cell("f")
    formula = cell.find(f"{M}f")
    row, ref = cell.getparent(), cell.get("r")
    letters, digits = ref.rstrip("0123456789"), ref.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    area = p.pick([ref, f"{ref}:{letters}{int(digits) + 3}", f"{letters}1:{ref}", "", f"A1:{ref}", "A1:Z99", f"{ref}:"])
    kind = p.pick(["array", "shared", "dataTable", "normal", "Array", "x"])
    formula.set("t", kind)
    if area:
        formula.set("ref", area)
    if kind == "shared":
        formula.set("si", p.pick(["0", "1", "00", ""]))
        others = [each for each in row.getparent().iter(f"{M}c") if each.find(f"{M}f") is not None and each is not cell]
        other = p.pick(others).find(f"{M}f")
        other.set("t", "shared")
        other.set("si", formula.get("si"))
        if p.chance.random() < 0.6:
            other.text = None
        if p.chance.random() < 0.3:
            formula.text = None
    if kind == "dataTable":
        formula.attrib.update({"r1": "A1", "dt2D": "0", "dtr": "1"})


def formula_added(p):
    """A formula in a cell that held a constant, its old value beside it; or one hidden from a plain look."""
    cell = p.pick(cell for cell in p.sheet().iter(f"{M}c") if len(cell) == 1 and cell.find(f"{M}v") is not None)
    formula = etree.Element(p.pick([f"{M}f"] * 3 + [f"{{{STRICT}}}f", f"{M}F", f"{{{X14}}}f"]))
    formula.text = p.pick([FALSE, f"={FALSE}", f'"{FALSE}"', "", " ", f"0+{FALSE}", f"+{FALSE}"])
    cell.insert(p.pick([0, 1]), formula)


def formula_respelled(p):
    formula = p.cell("f").find(f"{M}f")
    text = formula.text or ""
    formula.text = p.pick(
        [
            f"={text}",
            f"=={text}",
            f"+{text}",
            f" {text}",
            f"{text} ",
            f"{text}\n",
            f"of:={text}",
            f"({text})",
            f"{text}+0",
            f'{text}&""',
            f"_xlfn.{text}",
            f"{{{text}}}",
            f"[0]!{text}",
            f"{text}\x09",
            f"@{text}",
            f"{text}%",
            f"--{text}",
            text.replace("(", "（", 1),
            text.replace("*", "＊", 1),
            text.upper(),
            text.lower(),
            text.replace("+", "-", 1),
            text.replace(",", ";"),
            f"{text}:{text}",
            f"\u200b{text}",
            f"{text}~",
        ]
    )
