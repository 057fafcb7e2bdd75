"""What may be done to names, sheets, links and whole parts, so that programs may take others than were issued."""

import copy

from lxml import etree
from mutating import (
    BOOK,
    FALSE,
    LINKS,
    MC,
    OFFICE,
    STRICT,
    TYPES,
    M,
    Unfit,
    put_beside,
)

# fmt: off  (lists of spellings are wrapped by hand)


def name_twisted(p):
    names = p.root(BOOK).find(f"{M}definedNames")
    name = p.pick(each for each in names if not each.get("name").startswith("_"))
    text, kind = name.get("name"), p.chance.randint(0, 9)
    other = p.pick(each for each in names if not each.get("name").startswith("_"))
    twin = copy.deepcopy(name)
    twin.text = p.pick([other.text, FALSE, f"0+{name.text}", ""])
    if kind == 0:
        put_beside(p, name, twin)
    elif kind == 1:
        twin.set("localSheetId", p.pick(["0", "1", "2", "3", "-1", "00", " 0", "99", "٠"]))
        put_beside(p, name, twin)
    elif kind == 2:
        look = text.replace("s", "ſ").replace("k", "K") if p.chance.random() < 0.5 else text.replace("i", "ı")
        twin.set(
            "name",
            p.pick([look, text.upper(), text.replace("a", "а"), f"{text} ", text.replace("e", "ｅ"), f" {text}"]),
        )
        put_beside(p, name, twin)
        if p.chance.random() < 0.5:
            names.remove(name)
    elif kind == 3:
        name.set(p.pick(["function", "vbProcedure", "xlm", "hidden"]), p.pick(["1", "true", "on"]))
    elif kind == 4:
        name.set("name", f"_xlnm.{text}")
    elif kind == 5:
        etree.SubElement(name, f"{M}x").tail = "+1"
    elif kind == 6:
        twins = etree.Element(f"{M}definedNames")
        twins.append(twin)
        put_beside(p, names, twins)
    elif kind == 7:
        twin.tag = p.pick([f"{{{STRICT}}}definedName", f"{M}definedname"])
        put_beside(p, name, twin)
    elif kind == 8:
        name.text = p.pick(
            [
                f"={name.text}",
                name.text.replace("$", ""),
                f" {name.text}",
                f"({name.text})",
                f"{name.text},{name.text}",
                f"[0]!{name.text}",
                f"{name.text}:{name.text}",
                name.text.lower(),
                f"0+{name.text}",
            ]
        )
    else:
        around = etree.Element(f"{{{MC}}}AlternateContent")
        etree.SubElement(around, f"{{{MC}}}Fallback").append(twin)
        put_beside(p, name, around)


def settings_of_the_book(p):
    book = p.root(BOOK)
    value = p.pick(["1", "true", "on", "t", "TRUE", "yes", " 1", "0", "false", "off"])
    tag, attribute = p.pick([("workbookPr", "date1904"), ("calcPr", "fullPrecision"), ("calcPr", "iterate")])
    element = book.find(f"{M}{tag}")
    if p.chance.random() < 0.5:
        element.set(p.pick([attribute, f"{M}{attribute}", attribute.lower()]), value)
    else:
        twin = etree.Element(f"{M}{tag}", {attribute: value})
        if p.chance.random() < 0.5:
            put_beside(p, element, twin)
        else:
            book.append(twin)


def sheets_twisted(p):
    sheets = p.root(BOOK).find(f"{M}sheets")
    sheet, other = p.pick(sheets), p.pick(sheets)
    kind = p.chance.randint(0, 6)
    if kind == 0:
        twin = copy.deepcopy(sheet)
        twin.set("name", p.pick([f"{sheet.get('name')} 2", sheet.get("name").upper(), f"{sheet.get('name')} "]))
        put_beside(p, sheet, twin)
    elif kind == 1:
        sheet.set(f"{{{OFFICE}}}id", other.get(f"{{{OFFICE}}}id"))
    elif kind == 2:
        sheet.set(
            p.pick(["id", "{http://purl.oclc.org/ooxml/officeDocument/relationships}id"]), other.get(f"{{{OFFICE}}}id")
        )
    elif kind == 3:
        sheet.set("sheetId", p.pick([other.get("sheetId"), "0", "x"]))
    elif kind == 4:
        sheet.set("state", p.pick(["Visible", "hide", "HIDDEN", "x", ""]))
    elif kind == 5:
        put_beside(p, other, sheet)
    else:
        twins = etree.Element(f"{M}sheets")
        twins.append(copy.deepcopy(other))
        put_beside(p, sheets, twins)


def _false_sheet(p, part):
    """A copy of a sheet's part in which many cells show something else."""
    root = etree.fromstring(p.data(part))
    for cell in root.iter(f"{M}c"):
        if cell.get("t", "n") == "n" and cell.find(f"{M}v") is not None:
            cell.find(f"{M}v").text = FALSE
    return etree.tostring(root)


def links_twisted(p):
    """Two parts that a link may lead to, by order, by id, by type, or by the spelling of the target."""
    links = p.root(LINKS)
    link = p.pick(each for each in links if each.get("Type").endswith(("/worksheet", "/sharedStrings", "/styles")))
    target, type_ = link.get("Target"), link.get("Type")
    part = f"xl/{target}" if not target.startswith("/") else target[1:]
    if type_.endswith("/worksheet"):
        false = _false_sheet(p, part)
    else:
        false = p.data(part).replace(b"<t>", b"<t>" + FALSE.encode())
    kind = p.chance.randint(0, 6)
    if kind == 0:
        twin = _link_to_another(p, link, part, false)
        if p.chance.random() < 0.5:
            twin.set("Id", "rId99")
        put_beside(p, link, twin)
    elif kind == 1:
        twin = _link_to_another(p, link, part, false)
        twin.set("Type", p.pick(_types_like(type_)))
        put_beside(p, link, twin)
    elif kind == 2:
        spelled, member = p.pick(_spellings(target, part))
        link.set("Target", spelled)
        if member.lower() != part.lower():
            p.parts[member] = false
    elif kind == 3:
        link.set("TargetMode", p.pick(["Internal", "External", "internal", "x"]))
    elif kind == 4:
        link.set("Type", p.pick([f"{type_} ", type_.upper(), type_.replace("2006", "2007")]))
    elif kind == 5:
        p.duplicates.append((p.pick([part.upper(), part, part.replace("/", "\\")]), false))
    else:
        twin = _link_to_another(p, link, part, false)
        links.insert(0, twin)
        etree.SubElement(links, "{urn:other}Relationship", dict(twin.attrib))


def _link_to_another(p, link, part, false):
    """A link like this one, to a part of the same folder that shows something else."""
    another = f"{part.rpartition('/')[0]}/false.xml"
    p.parts[another] = false
    twin = copy.deepcopy(link)
    twin.set("Target", f"/{another}")
    return twin


def _types_like(type_):
    return [
        type_.replace("http:", "https:"),
        f"{type_} ",
        type_.upper(),
        type_.replace("schemas.openxmlformats.org/officeDocument/2006", "purl.oclc.org/ooxml/officeDocument"),
        f"urn:x/{type_.rpartition('/')[2]}",
    ]


def _spellings(target, part):
    """Other spellings of a link's target, each with the part that a program may look for then."""
    folder, _, file = part.rpartition("/")
    return [
        (target.replace("/", "//"), f"{folder}//{file}"),
        (target.replace("e", "%65", 1), part.replace("e", "%65", 1)),
        (target.replace("/", "\\"), part.replace("/", "\\")),
        (target.upper(), f"xl/{target.upper()}"),
        (f"./{target}", f"xl/./{target}"),
        (f"../xl/{target}", f"xl/../xl/{target}"),
        (f"{target}#x", f"{part}#x"),
        (f"{target}?x", f"{part}?x"),
        (f" {target}", f"xl/ {target}"),
        (f"/xl/{target}", f"/xl/{target}"),
    ]


def office_document_twice(p):
    links = p.root("_rels/.rels")
    link = p.pick(each for each in links if each.get("Type").endswith("/officeDocument"))
    book = etree.fromstring(p.data(BOOK))
    names = book.find(f"{M}definedNames")
    names.remove(names[p.chance.randrange(len(names))])
    p.parts["xl/false.xml"] = etree.tostring(book)
    p.parts["xl/_rels/false.xml.rels"] = p.data(LINKS)
    twin = copy.deepcopy(link)
    twin.attrib.update({"Target": "xl/false.xml", "Id": p.pick(["rId99", link.get("Id")])})
    if p.chance.random() < 0.5:
        twin.set("Type", "http://purl.oclc.org/ooxml/officeDocument/relationships/officeDocument")
    put_beside(p, link, twin)


def types_twisted(p):
    types = p.root(TYPES)
    element = p.pick(types)
    kind = p.chance.randint(0, 4)
    if kind == 0:
        put_beside(p, element, copy.deepcopy(element))
    elif kind == 1:
        element.set(
            "ContentType",
            p.pick(
                ["application/xml", "text/plain", element.get("ContentType").upper(), p.pick(types).get("ContentType")]
            ),
        )
    elif kind == 2:
        types.remove(element)
    elif kind == 3 and element.get("PartName"):
        element.set(
            "PartName",
            p.pick(
                [
                    element.get("PartName").upper(),
                    element.get("PartName")[1:],
                    element.get("PartName").replace("/", "//"),
                ]
            ),
        )
    else:
        twin = copy.deepcopy(element)
        twin.set("ContentType", p.pick(types).get("ContentType"))
        put_beside(p, element, twin)


def encoding_declared(p):
    """A part that declares another encoding than it is in, or is in one that few programs know."""
    part = p.pick(
        name for name in p.parts if name.endswith((".xml", ".rels")) and name.startswith(("xl/", "_rels", "content"))
    )
    data = p.data(part)
    body = data[data.index(b"?>") + 2 :].decode()
    declared, encoding = p.pick(
        [
            ("UTF-7", "utf-8"),
            ("ISO-8859-1", "utf-8"),
            ("windows-1252", "utf-8"),
            ("UTF-16", "utf-8"),
            ("UTF-8", "utf-16"),
            ("UTF-16", "utf-16"),
            ("utf-8", "utf-8-sig"),
            ("ISO-8859-1", "iso-8859-1"),
            ("IBM037", "cp037"),
            ("us-ascii", "utf-8"),
            ("UTF-16LE", "utf-16-le"),
            ("UTF-7", "utf-7"),
            ("x-mac", "utf-8"),
            ("utf8", "utf-8"),
            ("ISO-10646-UCS-2", "utf-16"),
        ]
    )
    text = f'<?xml version="{p.pick(["1.0"] * 5 + ["1.1"])}" encoding="{declared}"?>{body}'
    if declared == "UTF-7" and encoding == "utf-8":
        text = text.replace("<v>1", "<v>+ADk-1", 3).replace("<t>", "<t>+ADk-")
    p.parts[part] = text.encode(encoding, "xmlcharrefreplace")


def beside_the_cells(p):
    """What lies over cells or beside them: links, merged cells, days, formats, and text where none belongs."""
    root = p.sheet()
    cell = p.pick(cell for cell in root.iter(f"{M}c") if len(cell))
    kind, ref = p.chance.randint(0, 7), cell.get("r")
    if kind == 0:
        links = root.find(f"{M}hyperlinks")
        if links is None:
            links = etree.SubElement(root, f"{M}hyperlinks")
        etree.SubElement(links, f"{M}hyperlink", ref=ref, location="Quote!A1", display=FALSE)
    elif kind == 1:
        merged = root.find(f"{M}mergeCells")
        if merged is None:
            raise Unfit
        etree.SubElement(merged, f"{M}mergeCell", ref=f"A1:{ref}")
    elif kind == 2:
        root.set(p.pick(["ref", "{urn:other}a", f"{{{MC}}}Ignorable", f"{{{MC}}}ProcessContent"]), "x")
    elif kind == 3:
        cell.text = FALSE
    elif kind == 4:
        cell.set(p.pick(["vm", "cm", "ph", "s", "v", "value"]), p.pick(["1", "99999", "x"]))
    elif kind == 5:
        cell.getparent().text = FALSE
    elif kind == 6:
        scenarios = etree.Element(f"{M}scenarios", current="0", show="0")
        scenario = etree.SubElement(scenarios, f"{M}scenario", name="other", count="1")
        etree.SubElement(scenario, f"{M}inputCells", r=ref, val=FALSE)
        root.find(f"{M}sheetData").addnext(scenarios)
    else:
        cell[0].tail = FALSE


def whatever(p):
    """Any element of any part: doubled, taken out, moved, under another name, or with an attribute of another."""
    part = p.pick(
        name
        for name in p.parts
        if name.endswith((".xml", ".rels"))
        and "theme" not in name
        and "docProps" not in name
        and name not in ("meta.xml", "manifest.rdf")
    )
    elements = list(p.root(part).iter())[1:]
    element, other = p.pick(elements), p.pick(elements)
    kind = p.chance.randint(0, 6)
    if kind == 0:
        put_beside(p, element, copy.deepcopy(element))
    elif kind == 1:
        element.getparent().remove(element)
    elif kind == 2 and element not in other.iterancestors() and element is not other:
        other.append(element)
    elif kind == 3:
        element.tag = other.tag
    elif kind == 4:
        element.attrib.update(dict(other.attrib))
    elif kind == 5 and element.attrib:
        element.attrib.pop(p.pick(element.attrib))
    else:
        other.append(copy.deepcopy(element))
