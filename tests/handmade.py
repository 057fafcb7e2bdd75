"""Packages made by hand, part by part, for what no spreadsheet program here writes; and one rich workbook."""

import zipfile
from pathlib import Path

from worked_example import FIRM, PAPERS, RATES, REQUEST

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT = ("http://purl.oclc.org/ooxml/spreadsheetml/main", "http://purl.oclc.org/ooxml/officeDocument/relationships")
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"

SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"
TYPES = (
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    f'<Override PartName="/xl/workbook.xml" ContentType="{SPREADSHEET}.sheet.main+xml"/>'
    f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{SPREADSHEET}.worksheet+xml"/>'
    f'<Override PartName="/xl/sharedStrings.xml" ContentType="{SPREADSHEET}.sharedStrings+xml"/></Types>'
)


def relationships(*targets: tuple[str, str, str], office=OFFICE) -> str:
    """A .rels part: (id, kind, target) each."""
    links = "".join(f'<Relationship Id="{id_}" Type="{office}/{kind}" Target="{to}"/>' for id_, kind, to in targets)
    return f'<Relationships xmlns="{PACKAGE}">{links}</Relationships>'


def sheet_xml(rows: str, main=MAIN) -> str:
    return f'<worksheet xmlns="{main}"><sheetData>{rows}</sheetData></worksheet>'


def parts(rows: str, *, names="", shared="", properties="", main=MAIN, office=OFFICE) -> dict[str, str]:
    """The parts of a workbook with one sheet, `Only`, of those rows."""
    return {
        "[Content_Types].xml": TYPES,
        "_rels/.rels": relationships(("rId1", "officeDocument", "xl/workbook.xml"), office=office),
        "xl/workbook.xml": (
            f'<workbook xmlns="{main}" xmlns:r="{office}">{properties}'
            '<sheets><sheet name="Only" sheetId="1" r:id="rId1"/></sheets>'
            f"<definedNames>{names}</definedNames></workbook>"
        ),
        "xl/_rels/workbook.xml.rels": relationships(
            ("rId1", "worksheet", "worksheets/sheet1.xml"),
            ("rId2", "sharedStrings", "sharedStrings.xml"),
            office=office,
        ),
        "xl/sharedStrings.xml": f'<sst xmlns="{main}">{shared}</sst>',
        "xl/worksheets/sheet1.xml": sheet_xml(rows, main),
    }


def pack(path: Path, members: dict[str, str | bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def ods_parts(tables: str, *, styles="", settings="") -> dict[str, str]:
    """The parts of an .ods whose spreadsheet holds those tables."""
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text", "style")
    )
    return {
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
        "content.xml": (
            f"<office:document-content {spaces}><office:automatic-styles>{styles}</office:automatic-styles>"
            f"<office:body><office:spreadsheet>{settings}{tables}</office:spreadsheet></office:body>"
            "</office:document-content>"
        ),
        "META-INF/manifest.xml": '<manifest xmlns="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>',
    }


def rich_workbook(path: Path) -> Path:
    """A workbook by XlsxWriter with every kind of cell, name and sheet that comes back from clients."""
    import xlsxwriter

    book = xlsxwriter.Workbook(path)
    front, hidden, very_hidden = (book.add_worksheet(name) for name in ("It's a (test)", "Löhne", "stamp"))
    hidden.hide()
    very_hidden.very_hidden()
    day, share = book.add_format({"num_format": "yyyy-mm-dd"}), book.add_format({"num_format": "0.00%"})
    for row, number in enumerate((0, 1, -1, 0.1, 1 / 3, 12345678901234567890, 1e-300, 10.01, 0.07, 36.5)):
        front.write_number(row, 0, number)
    front.write_number(10, 0, 46193, day)
    front.write_number(11, 0, 46193.75, day)
    front.write_number(12, 0, 0.06875, share)
    front.write_boolean(13, 0, False)
    texts = ("plain", "", "  two  spaces ", "first\nsecond", "=1+1", "'12", "1,5", "€ 名 🕺", "x" * 32_767)
    for row, text in enumerate(texts):
        front.write_string(row, 1, text)
    front.write_rich_string(9, 1, "a ", book.add_format({"bold": True}), "bold", " word")
    front.write_formula(0, 2, "=rate_1*2", None, 9999)
    front.write_formula(1, 2, '=IF(A1>1,"","none")', None, "none")
    front.write_formula(2, 2, "=1/0", None, "#DIV/0!")
    front.write_formula(3, 2, "=SUM(A1:A3,'Löhne'!$A$1)", None, 31.4)
    front.write_formula(4, 2, '="a;b"&"c|d"', None, "a;bc|d")
    front.write_formula(5, 2, "=NOT(FALSE)", None, True)
    front.write_array_formula("D1:D2", "{=A1:A2*2}", None, 0)
    for row in range(3):
        front.write_string(20 + row, 3, "same")
        front.write_string(20, 4 + row, "same")
    hidden.write_number("A1", 31.4)
    very_hidden.write_string("A1", "a secret")
    book.define_name("rate_1", "='It''s a (test)'!$A$10")
    book.define_name("wages", "=Löhne!$A$1:$A$3")
    book.define_name("Löhne!rate_1", "=Löhne!$A$1")
    book.define_name("a_constant", "=0.19")
    front.autofilter("A1:B2")
    front.write_comment("A1", "a comment")
    book.close()
    return path


def client_workbook(path: Path) -> Path:
    """A quote as it goes out: the one worked out by hand."""
    from quotebook.client.draft import Issue
    from quotebook.client.workbook import write_quote

    issue = Issue(PAPERS, FIRM, RATES, REQUEST, terms=("Pay in time.",))
    with path.open("wb") as file:
        write_quote(file, issue, b"key")
    return path
