"""What may be done to an .ods so that programs may read something else in it than was issued."""

import copy

from lxml import etree
from mutating import (
    CALCEXT,
    FALSE,
    ODF,
    OFFICE_,
    TABLE,
    TEXT,
    put_beside,
)

# fmt: off  (lists of spellings are wrapped by hand)


def _ods_cell(p, kind=None):
    root = p.root("content.xml")
    return p.pick(
        cell
        for cell in root.iter(f"{TABLE}table-cell")
        if cell.get(f"{OFFICE_}value-type") and (kind is None or cell.get(f"{OFFICE_}value-type") == kind)
    )


def ods_cell_twice(p):
    cell = _ods_cell(p)
    twin = copy.deepcopy(cell)
    twin.attrib.pop(f"{TABLE}formula", None)
    twin.attrib.update({f"{OFFICE_}value-type": "float", f"{OFFICE_}value": FALSE})
    twin.tag = p.pick(
        [twin.tag, f"{TABLE}covered-table-cell", f"{{{ODF.format('x')}}}table-cell", f"{OFFICE_}table-cell"]
    )
    put_beside(p, cell, twin)


def ods_values(p):
    """A value by two attributes, or by one of another namespace, or by the text alone."""
    cell = _ods_cell(p)
    name = p.pick(["value", "string-value", "date-value", "boolean-value", "time-value", "value-type", "currency"])
    space = p.pick([OFFICE_, TABLE, CALCEXT, TEXT, ""])
    value = p.pick([FALSE, "true", "2027-06-12", "PT01H00M00S", "string", "float", "date", "percentage", "error", "x"])
    cell.set(f"{space}{name}", value)
    if p.chance.random() < 0.3:
        cell.attrib.pop(p.pick([f"{OFFICE_}value", f"{OFFICE_}value-type", f"{OFFICE_}string-value"]), None)


def ods_number_respelled(p):
    cell = _ods_cell(p, "float")
    text = cell.get(f"{OFFICE_}value")
    arabic = text.translate({48 + digit: 0x660 + digit for digit in range(10)})
    cell.set(
        f"{OFFICE_}value",
        p.pick(
            [
                f" {text}",
                f"{text} ",
                arabic,
                text.replace(".", ","),
                f"{text}e0",
                f"+{text}",
                f"{text}.",
                f"{text}x",
                f"0x{text}",
                "INF",
                "",
                f"{text}_1",
                f"{text},5",
                f"--{text}",
                "NaN",
            ]
        ),
    )


def ods_text(p):
    """Text that is a field, a note, a ruby, a change, a span or a break inside the text of a cell."""
    paragraph = p.pick(each for each in p.root("content.xml").iter(f"{TEXT}p") if each.text)
    kind = p.chance.randint(0, 3)
    if kind == 0:
        inside = etree.SubElement(
            paragraph,
            TEXT
            + p.pick(
                [
                    "date",
                    "page-number",
                    "sheet-name",
                    "title",
                    "time",
                    "span",
                    "a",
                    "ruby",
                    "s",
                    "tab",
                    "line-break",
                    "note",
                    "bookmark",
                    "soft-page-break",
                    "hidden-text",
                    "x",
                    "meta",
                    "p",
                ]
            ),
        )
        inside.text = FALSE
        inside.tail = p.pick(["", FALSE])
    elif kind == 1:
        note = etree.Element(f"{OFFICE_}annotation")
        etree.SubElement(note, f"{TEXT}p").text = FALSE
        p.pick([paragraph, paragraph.getparent()]).insert(0, note)
    elif kind == 2:
        paragraph.addnext(copy.deepcopy(paragraph))
    else:
        paragraph.text = p.pick([f"{FALSE}{paragraph.text}", FALSE, f"  {paragraph.text}", f"{paragraph.text}\n\n"])


def ods_repeats(p):
    cell = _ods_cell(p)
    element = p.pick([cell, cell.getparent()])
    what = "columns" if element is cell else "rows"
    element.set(
        TABLE + p.pick([f"number-{what}-repeated", f"number-{what}-spanned", f"number-matrix-{what}-spanned"]),
        p.pick(["2", "1", "0", "01", " 2", "-1", "x", "1.5", "٢", "3"]),
    )


def ods_formula(p):
    cell = p.pick(cell for cell in p.root("content.xml").iter(f"{TABLE}table-cell") if cell.get(f"{TABLE}formula"))
    text = cell.get(f"{TABLE}formula")
    plain = text.partition("=")[2]
    kind = p.chance.randint(0, 3)
    if kind == 0:
        cell.set(
            f"{TABLE}formula",
            p.pick(
                [
                    f"={plain}",
                    f"oooc:={plain}",
                    f"msoxl:={plain}",
                    plain,
                    f"of:{plain}",
                    f"of:=={plain}",
                    f"of:={plain}+0",
                    f" {text}",
                    f"OF:={plain}",
                    f"of:=+{plain}",
                    f"x:={plain}",
                    f"of:=({plain})",
                    "",
                ]
            ),
        )
    elif kind == 1:
        cell.set(p.pick([CALCEXT, OFFICE_, "", TEXT]) + "formula", f"of:={FALSE}")
    elif kind == 2:
        _ods_cell(p).set(f"{TABLE}formula", f"of:={FALSE}")
    else:
        cell.attrib.update(
            {f"{TABLE}number-matrix-columns-spanned": "2", f"{TABLE}number-matrix-rows-spanned": p.pick(["1", "3"])}
        )


def ods_beside(p):
    """What stands beside cells and rows: sources, scenarios, shapes, listeners, rows of other kinds."""
    root = p.root("content.xml")
    cell = _ods_cell(p)
    row, table = cell.getparent(), next(cell.iterancestors(f"{TABLE}table"))
    kind = p.chance.randint(0, 9)
    if kind == 0:
        etree.SubElement(cell, f"{TABLE}cell-range-source", {f"{TABLE}name": "x", f"{TABLE}filter-name": "x"})
    elif kind == 1:
        cell.insert(0, copy.deepcopy(p.pick(root.iter(f"{TABLE}table"))))
    elif kind == 2:
        twin = copy.deepcopy(row)
        for each in twin:
            each.attrib.pop(f"{TABLE}formula", None)
        around = etree.Element(
            TABLE + p.pick(["table-row-group", "table-header-rows", "table-rows", "x", "table-source", "shapes"])
        )
        around.append(twin)
        put_beside(p, row, around)
    elif kind == 3:
        around = etree.Element(TABLE + p.pick(["table-row-group", "table-header-rows", "table-rows", "x"]))
        row.addprevious(around)
        around.append(row)
    elif kind == 4:
        twin = copy.deepcopy(table)
        twin.set(f"{TABLE}name", p.pick([table.get(f"{TABLE}name"), f"{table.get(f'{TABLE}name')} 2"]))
        put_beside(p, table, twin)
    elif kind == 5:
        sheet = table.getparent()
        twin = copy.deepcopy(sheet)
        put_beside(p, sheet, twin)
    elif kind == 6:
        table.insert(
            0,
            etree.Element(
                f"{TABLE}scenario", {f"{TABLE}scenario-ranges": "Quote.A1:Quote.Z99", f"{TABLE}is-active": "true"}
            ),
        )
    elif kind == 7:
        table.insert(0, etree.Element(f"{OFFICE_}event-listeners"))
    elif kind == 8:
        cell.tag = TABLE + p.pick(["covered-table-cell", "table-cells", "cell"])
    else:
        body = table.getparent()
        settings = etree.Element(f"{TABLE}calculation-settings")
        if p.chance.random() < 0.5:
            etree.SubElement(
                settings, f"{TABLE}null-date", {f"{TABLE}date-value": p.pick(["1904-01-01", "1900-01-01", "x"])}
            )
        else:
            settings.set(f"{TABLE}precision-as-shown", p.pick(["true", "1", "on"]))
        body.insert(p.pick([0, len(body)]), settings)


def ods_names(p):
    names = p.pick(p.root("content.xml").iter(f"{TABLE}named-expressions"))
    name, other = p.pick(names), p.pick(names)
    twin = copy.deepcopy(name)
    twin.set(f"{TABLE}cell-range-address", other.get(f"{TABLE}cell-range-address") or "")
    kind = p.chance.randint(0, 3)
    if kind == 0:
        put_beside(p, name, twin)
    elif kind == 1:
        twin.set(
            f"{TABLE}name",
            p.pick(
                [
                    name.get(f"{TABLE}name").upper(),
                    name.get(f"{TABLE}name").replace("i", "ı"),
                    name.get(f"{TABLE}name").replace("s", "ſ"),
                ]
            ),
        )
        put_beside(p, name, twin)
    elif kind == 2:
        name.set(
            TABLE + p.pick(["base-cell-address", "range-usable-as", "expression", "cell-range-address"]),
            p.pick(["$Quote.$A$1", FALSE, "filter"]),
        )
    else:
        twins = etree.Element(f"{TABLE}named-expressions")
        twins.append(twin)
        put_beside(p, names, twins)
