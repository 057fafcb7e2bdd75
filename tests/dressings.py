"""Quotes dressed as programs save them that cannot be run here: Excel for Windows, its strict variant, Google Sheets.

What each writes is taken from what stands in files that they saved, counted and read: nothing here changes a value, a
formula, a name or a sheet.
"""

import re
import zipfile
from pathlib import Path

from mutating import MAIN, OFFICE, STRICT

from quotebook.spreadsheets.xlsx_book_tables import PREFIXES
from quotebook.spreadsheets.xlsx_parts import NAMESPACES

TYPES, BOOK, LINKS = "[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
UID = "{00000000-0001-0000-0000-000000000000}"
IGNORABLE = (
    'mc:Ignorable="x14ac xr xr2 xr3" '
    + " ".join(f'xmlns:{name}="{PREFIXES[name]}"' for name in ("mc", "x14ac", "xr", "xr2", "x14"))
    + ' xmlns:xr3="http://schemas.microsoft.com/office/spreadsheetml/2016/revision3"'
)
REVISION = (
    f'<mc:AlternateContent xmlns:mc="{PREFIXES["mc"]}"><mc:Choice Requires="x15"><x15ac:absPath url="C:\\Quotes\\" '
    f'xmlns:x15ac="{PREFIXES["x15ac"]}"/></mc:Choice></mc:AlternateContent><xr:revisionPtr revIDLastSave="0" '
    f'documentId="8_{UID}" xr6:coauthVersionLast="47" xr6:coauthVersionMax="47" '
    f'xr10:uidLastSave="{UID}" xmlns:xr="{PREFIXES["xr"]}" xmlns:xr6="{PREFIXES["xr6"]}" '
    f'xmlns:xr10="{PREFIXES["xr10"]}"/>'
)
FEATURES = (
    '<extLst><ext uri="{B58B0392-4F1F-4190-BB64-5DF3571DCE5F}" '
    'xmlns:xcalcf="http://schemas.microsoft.com/office/spreadsheetml/2018/calcfeatures"><xcalcf:calcFeatures>'
    '<xcalcf:feature name="microsoft.com:RD"/></xcalcf:calcFeatures></ext></extLst>'
)
VALIDATIONS = (
    '<extLst><ext uri="{CCE6A557-97BC-4b89-ADB6-D9C93CAAB3DF}" xmlns:x14="%s"><x14:dataValidations count="1" '
    'xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main"><x14:dataValidation type="list" xr:uid="%s">'
    "<x14:formula1><xm:f>Rates!$A$1:$A$3</xm:f></x14:formula1><xm:sqref>Z99</xm:sqref></x14:dataValidation>"
    "</x14:dataValidations></ext></extLst>"
)


def as_excel(path: Path, target: Path) -> Path:
    """As Excel 2016 to 365 save it: ids of revisions, a path, fonts, printers, an order of calculation, extensions."""
    parts = _parts(path)
    for part in _sheets(parts):
        sheet = parts[part]
        sheet = re.sub(r' xmlns:(?:mc|x14|xr2)="[^"]*"', "", sheet)
        sheet = sheet.replace("<worksheet ", f'<worksheet {IGNORABLE} xr:uid="{UID}" ', 1)
        sheet = re.sub(r"<row ([^>]*?)(/?)>", r'<row \1 thickBot="1" x14ac:dyDescent="0.25"\2>', sheet)
        sheet = sheet.replace('defaultRowHeight="15"', 'defaultRowHeight="15" x14ac:dyDescent="0.25"')
        sheet = sheet.replace("<dataValidation ", f'<dataValidation xr:uid="{UID}" ')
        sheet = sheet.replace("<pageSetup ", '<pageSetup r:id="rIdPrinter" ')
        sheet = sheet.replace("<v> ", '<v xml:space="preserve"> ')
        parts[part] = sheet.replace("</worksheet>", VALIDATIONS % (PREFIXES["x14"], UID) + "</worksheet>")
        _link(parts, part, "rIdPrinter", "printerSettings", "../printerSettings/printerSettings1.bin")
    parts["xl/printerSettings/printerSettings1.bin"] = "\0"
    book = parts[BOOK].replace("<bookViews>", f"{REVISION}<bookViews>")
    book = book.replace("<workbookView ", f'<workbookView xmlns:xr2="{PREFIXES["xr2"]}" xr2:uid="{UID}" ')
    book = re.sub(
        r"<fileVersion[^>]*>", '<fileVersion appName="xl" lastEdited="7" lowestEdited="4" rupBuild="27425"/>', book
    )
    book = re.sub(r"<calcPr[^>]*>", '<calcPr calcId="191029"/>', book)
    parts[BOOK] = book.replace("</workbook>", f"{FEATURES}</workbook>")
    parts["xl/styles.xml"] = parts["xl/styles.xml"].replace(
        "<fonts ", f'<fonts x14ac:knownFonts="1" xmlns:x14ac="{PREFIXES["x14ac"]}" ', 1
    )
    parts["xl/sharedStrings.xml"] = parts["xl/sharedStrings.xml"].replace(
        "</t></si>", '</t><phoneticPr fontId="1" type="noConversion"/></si>', 3
    )
    parts["xl/calcChain.xml"] = f'<calcChain xmlns="{MAIN}"><c r="D5" i="3"/></calcChain>'
    _link(parts, BOOK, "rIdChain", "calcChain", "calcChain.xml")
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    _declare(parts, f'<Default Extension="bin" ContentType="{kind}.printerSettings"/>')
    _declare(parts, f'<Override PartName="/xl/calcChain.xml" ContentType="{kind}.calcChain+xml"/>')
    return _save(parts, target)


def as_strict(path: Path, target: Path) -> Path:
    """As Excel saves a "Strict Open XML Spreadsheet": the same under the standard's other namespaces."""
    parts = _parts(as_excel(path, target))
    for name, text in parts.items():
        if isinstance(text, str):
            text = text.replace(MAIN, STRICT).replace(OFFICE, NAMESPACES[STRICT])
            parts[name] = text.replace(
                f"{NAMESPACES[STRICT]}/extended-properties", f"{NAMESPACES[STRICT]}/extendedProperties"
            )
    parts[BOOK] = parts[BOOK].replace("<workbook ", '<workbook conformance="strict" ', 1)
    return _save(parts, target)


def as_google_sheets(path: Path, target: Path) -> Path:
    """As Google Sheets exports it: without protection, with drawings and data of its own (from memory)."""
    parts = _parts(path)
    for number, part in enumerate(_sheets(parts)):
        sheet = re.sub(r"<sheetProtection[^>]*/>", "", parts[part])
        sheet = re.sub(r'<row r="(\d+)"[^>]*?(/?)>', r'<row r="\1" ht="15.75" customHeight="1"\2>', sheet)
        sheet = re.sub(
            r"<sheetFormatPr [^>]*?(/?)>", r'<sheetFormatPr customHeight="1" defaultRowHeight="15.75"\1>', sheet
        )
        if "<drawing " not in sheet:
            sheet = re.sub(r"(</worksheet>)", r'<drawing r:id="rIdDrawing"/>\1', sheet)
            drawing = f"xl/drawings/worksheetdrawing{number}.xml"
            parts[drawing] = f'<xdr:wsDr xmlns:xdr="{PREFIXES["xdr"]}"/>'
            _link(parts, part, "rIdDrawing", "drawing", f"../drawings/worksheetdrawing{number}.xml")
            kind = "application/vnd.openxmlformats-officedocument.drawing+xml"
            _declare(parts, f'<Override PartName="/{drawing}" ContentType="{kind}"/>')
        parts[part] = sheet
    book = re.sub(r"<(fileVersion|bookViews>.*</bookViews|workbookPr)[^>]*>", "", parts[BOOK])
    book = re.sub(r"<calcPr[^>]*>", "<calcPr/>", book).replace("<sheets>", "<workbookPr/><sheets>")
    book = (
        book.replace(' state="visible"', "")
        .replace('<sheet name="', '<sheet state="visible" name="')
        .replace('state="visible" name="stamp"', 'name="stamp"')
    )
    extension = (
        '<extLst><ext uri="GoogleSheetsCustomDataVersion2"><go:sheetsCustomData '
        'xmlns:go="http://customooxmlschemas.google.com/" r:id="rIdGoogle" roundtripDataSignature="AAAA"/>'
        "</ext></extLst>"
    )
    parts[BOOK] = book.replace("</workbook>", f"{extension}</workbook>")
    parts["xl/metadata"] = "AAAA"
    link = (
        '<Relationship Id="rIdGoogle" Type="http://customschemas.google.com/relationships/workbookmetadata" '
        'Target="metadata"/></Relationships>'
    )
    parts[LINKS] = parts[LINKS].replace("</Relationships>", link)
    _declare(parts, '<Override PartName="/xl/metadata" ContentType="application/binary"/>')
    return _save(parts, target)


DRESSINGS = {"Excel": as_excel, "Excel, strict": as_strict, "Google Sheets": as_google_sheets}


def _parts(path: Path) -> dict:
    """The parts of a package, those in XML as text, without what other programs have added to the workbook's."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    parts = {name: data.decode() if name.endswith((".xml", ".rels")) else data for name, data in parts.items()}
    return parts | {BOOK: re.sub(r"<extLst>.*?</extLst>", "", parts[BOOK])}


def _sheets(parts: dict) -> list[str]:
    return sorted(name for name in parts if re.fullmatch(r"xl/worksheets/sheet\d+\.xml", name))


def _link(parts: dict, part: str, id_: str, kind: str, target: str) -> None:
    folder, _, file = part.rpartition("/")
    links = f"{folder}/_rels/{file}.rels"
    empty = '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"></Relationships>'
    link = f'<Relationship Id="{id_}" Type="{OFFICE}/{kind}" Target="{target}"/></Relationships>'
    parts[links] = parts.get(links, empty).replace("</Relationships>", link)


def _declare(parts: dict, declaration: str) -> None:
    parts[TYPES] = parts[TYPES].replace("</Types>", f"{declaration}</Types>")


def _save(parts: dict, target: Path) -> Path:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return target
