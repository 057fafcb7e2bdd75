"""Files made to be too much for a reader: a name, the parts, and a word of the verdict.

The verdict is "read" where the file does no harm. One after another, since each is large.
"""

import zipfile
from pathlib import Path

import handmade
from extent import extent

AT_LENGTH = ("a million cells in sheets", "a short shared formula in every cell")
"""Files that take seconds, with --slow: others meet those limits in the normal run."""
SHEET = "xl/worksheets/sheet1.xml"
LINKS = "xl/_rels/workbook.xml.rels"


def everything(folder: Path):
    """Each file as it is written: its path, and a word of its verdict."""
    for files in (expanding(), dense(), shared(), tangled(), open_document()):
        for name, parts, word in files:
            if name in extent(AT_LENGTH, ()):
                continue
            yield handmade.pack(folder / f"{name}.xlsx", parts), word
    yield bomb(folder / "300 MB from 300 KB.xlsx"), "expands"


def bomb(path: Path) -> Path:
    parts = handmade.parts("")
    del parts[SHEET]
    handmade.pack(path, parts)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive, archive.open(SHEET, "w") as sheet:
        sheet.write(handmade.sheet_xml("").removesuffix("</sheetData></worksheet>").encode())
        for _ in range(300):
            sheet.write(b" " * 1_000_000)
    assert path.stat().st_size < 310_000
    return path


def row(cells: str) -> str:
    return f"<row>{cells}</row>"


def expanding():
    plain = handmade.parts
    laughs = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    laughing = f'<!DOCTYPE l [<!ENTITY l0 "ha">{laughs}]>' + handmade.sheet_xml(row("<c><v>&l9;</v></c>"))
    yield "a billion laughs", plain("") | {SHEET: laughing}, "DOCTYPE"
    yield "a part beyond the limit", plain("", shared="<si><t>a</t></si>" * 1_000_000), "expands"
    yield "many parts beyond the limit", many_sheets(" " * 9_000_000, 5), "expands"
    yield "a photograph that nobody reads", plain("") | {"xl/media/image1.bmp": bytes(50_000_000)}, "read"
    yield "every sheet the same part", many_sheets(row("<c><v>1</v></c>" * 7_400) * 10, 150, files=1), "200,000 cells"


def dense():
    plain = handmade.parts
    yield "one stray cell", plain('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'), "read"
    yield "a million cells", plain(row("<c><v>1</v></c>" * 16_384) * 61), "tags"
    yield "a million cells in sheets", many_sheets(row("<c><v>1</v></c>" * 7_400) * 10, 10), "200,000 cells"
    yield "a million blank cells", plain(row('<c s="1"/>' * 16_384) * 61), "tags"
    yield "as many cells as may be", many_sheets(row('<c s="1"><v>12.25</v></c>' * 7_400) * 10, 2), "read"
    yield "as much of everything as may be", plain('<a b="abcdefgh"/>abcdefgh' * 299_000), "read"
    yield "as many attributes as may be", plain("<a " + " ".join(f'a{n}="{n}"' for n in range(299_000)) + "/>"), "read"
    yield "a part of one text", plain(row(f'<c t="str"><v>{"x" * 9_900_000}</v></c>')), "characters"
    yield "a text longer than libxml2 takes", plain(row(f'<c t="str"><v>{"x" * 11_000_000}</v></c>')), "damaged"
    yield "tags in tags", plain("<a>" * 140_000 + "</a>" * 140_000), "damaged"
    yield "wide characters", plain("", shared=f"<si><t>{'🕺' * 30_000}</t></si>" * 130), "read"
    yield "20,000 names", plain("", names='<definedName name="a">Only!$A$1</definedName>' * 20_000), "read"


def shared():
    text = f"<si><t>{'x' * 32_767}</t></si>"
    dependant = '<c><f t="shared" si="0"/></c>' * 16_000
    yield "one text in every cell", handmade.parts(row('<c t="s"><v>0</v></c>' * 7_400) * 10, shared=text), "read"
    for name, formula, word in (("long", "A1+" * 10_000 + "1", "shared formulas"), ("short", "A1", "read")):
        first = f'<c><f t="shared" ref="A1" si="0">{formula}</f></c>'
        yield f"a {name} shared formula in every cell", handmade.parts(row(first + dependant) * 5), word


def tangled():
    plain, links = handmade.parts, handmade.relationships
    around = links(("rId1", "worksheet", "workbook.xml"))
    yield "a sheet that is its own workbook", plain("") | {LINKS: around}, "links say"
    itself = links(("rId1", "officeDocument", "_rels/.rels"))
    yield "a workbook that is its own links", plain("") | {"_rels/.rels": itself}, "not a workbook"
    yield "links upwards", plain("") | {LINKS: links(("rId1", "worksheet", "../../../../etc/passwd"))}, "missing"


def open_document():
    cell = '<table:table-cell office:value-type="{}" {}>{}</table:table-cell>'
    number = cell.format("float", 'office:value="1" table:number-columns-repeated="16384"', "")
    rows = f'<table:table-row table:number-rows-repeated="1048576">{number}</table:table-row>'
    yield "an .ods of one repeated cell", table(rows), "200,000 cells"
    blanks = '<text:s text:c="32000"/>' * 200_000
    text = cell.format("string", "", f"<text:p>{blanks}</text:p>")
    yield "an .ods of blanks", table(f"<table:table-row>{text}</table:table-row>"), "characters"
    groups = "<table:table-row-group>" * 240 + "<table:table-row/>" * 290_000 + "</table:table-row-group>" * 240
    yield "an .ods of groups in groups", table(groups), "read"
    yield "an .ods beyond the limit", table(" " * 17_000_000), "expands"


def table(content: str) -> dict[str, str]:
    return handmade.ods_parts(f'<table:table table:name="Only">{content}</table:table>')


def many_sheets(rows: str, count: int, files: int | None = None) -> dict[str, str]:
    """A workbook of many sheets with the same rows, in as many parts or in fewer."""
    parts = handmade.parts("")
    sheets = "".join(f'<sheet name="s{n}" sheetId="{n + 2}" r:id="r{n}"/>' for n in range(count))
    parts["xl/workbook.xml"] = parts["xl/workbook.xml"].replace("<sheets>", f"<sheets>{sheets}")
    members = [f"worksheets/s{n % (files or count)}.xml" for n in range(count)]
    targets = ((f"r{n}", "worksheet", member) for n, member in enumerate(members))
    links = handmade.relationships(*targets, ("rId1", "worksheet", "worksheets/sheet1.xml"))
    return parts | {LINKS: links} | {f"xl/{member}": handmade.sheet_xml(rows) for member in members}
