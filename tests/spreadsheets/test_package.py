"""What a file is, said before anything in it is parsed; and the bounds of a package."""

import os
import zipfile

import handmade
import pytest

from quotebook.errors import Unreadable
from quotebook.spreadsheets import package
from quotebook.spreadsheets.package import open_package

COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # [MS-CFB] 2.2
WORKBOOK = handmade.parts("<row><c><v>1</v></c></row>")


def stream(name: str) -> bytes:
    """A compound file as far as its directory tells of one stream ([MS-CFB] 2.6.1)."""
    return COMPOUND + bytes(1016) + name.encode("utf-16-le").ljust(64, b"\0")


FILES = {
    "empty": (b"", "is empty"),
    "blank": (b"\r\n \r\n", "is empty"),
    "password-protected": (stream("EncryptedPackage"), "protected by a password; .* without one"),
    "Excel 97": (stream("Workbook"), "old .xls workbook; .* as .xlsx"),
    "Excel 5": (stream("Book"), "old .xls workbook"),
    "old Word": (stream("WordDocument"), "old Office file"),
    "PDF": (b"%PDF-1.7\n%\xe2\xe3", "is a PDF"),
    "HTML": (b"\xef\xbb\xbf<!DOCTYPE html><html>", "is HTML"),
    "HTML named .xls": (b"<html xmlns:x='urn:schemas-microsoft-com:office:excel'><table>", "is HTML"),
    "Excel 2003 XML": (b"<?xml?><Workbook xmlns='urn:schemas-microsoft-com:office:spreadsheet'>", "one XML file"),
    "flat OpenDocument": (b"<?xml?><office:document>", "one XML file"),
    "CSV": (b"panel,width\n4x4,20\n", "plain text or CSV"),
    "CSV in UTF-8 with a mark": ("\ufefföl,1\n".encode(), "plain text or CSV"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is not a workbook"),
    "truncated zip": (b"PK\3\4" + bytes(100), "cut short or damaged"),
}  # fmt: skip


@pytest.mark.parametrize(("data", "says"), FILES.values(), ids=FILES)
def test_what_else_a_file_is(tmp_path, data, says):
    path = tmp_path / "returned.xlsx"
    path.write_bytes(data)
    with pytest.raises(Unreadable, match=says) as refusal:
        open_package(path)
    assert str(refusal.value).startswith(f"{path}: ") and "\n" not in str(refusal.value)


ZIPS = {
    "no workbook in it": ({"readme.txt": "hello"}, "a zip, but not a workbook"),
    "nothing in it": ({}, "a zip, but not a workbook"),
    ".xlsb": (WORKBOOK | {"xl/workbook.bin": ""}, ".xlsb"),
    ".numbers": ({"Index/Document.iwa": "", "Metadata/Properties.plist": ""}, "export it from Numbers"),
    "older .numbers": ({"Index.zip": ""}, "export it from Numbers"),
    ".docx": (WORKBOOK | {"word/document.xml": ""}, "text document"),
    ".pptx": (WORKBOOK | {"ppt/presentation.xml": ""}, "presentation"),
    "a workbook in a zip": ({"returned.xlsx": b"PK"}, "unpack it first"),
    "protected .ods": (
        handmade.ods_parts("") | {"META-INF/manifest.xml": "<manifest:encryption-data/>"}, "protected by a password"
    ),
}  # fmt: skip


@pytest.mark.parametrize(("members", "says"), ZIPS.values(), ids=ZIPS)
def test_what_else_a_zip_is(tmp_path, members, says):
    with pytest.raises(Unreadable, match=says):
        open_package(handmade.pack(tmp_path / "returned.xlsx", members))


def test_an_xls_that_libreoffice_wrote(soffice, tmp_path):
    source = handmade.client_workbook(tmp_path / "quote.xlsx")
    with pytest.raises(Unreadable, match=r"old \.xls workbook"):
        open_package(soffice.convert([source], tmp_path, "xls")[0])


def test_no_such_file_a_folder_and_no_permission(tmp_path, monkeypatch):
    with pytest.raises(Unreadable, match="no such file"):
        open_package(tmp_path / "none.xlsx")
    with pytest.raises(Unreadable, match="is a folder"):
        open_package(tmp_path)
    with pytest.raises(Unreadable, match="could not be read"):
        open_package("nul\0byte.xlsx")
    locked = handmade.pack(tmp_path / "locked.xlsx", WORKBOOK)
    monkeypatch.setattr("pathlib.Path.open", _refuse)  # the superuser, whom tests may run as, may read anything
    with pytest.raises(Unreadable, match="may not be read"):
        open_package(locked)


def _refuse(self, *arguments):
    raise PermissionError(13, "Permission denied")


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.xlsx")
    with pytest.raises(Unreadable, match="not a file"):
        open_package(tmp_path / "pipe.xlsx")


def test_every_cut_of_a_workbook_is_refused(tmp_path):
    whole = handmade.pack(tmp_path / "whole.xlsx", WORKBOOK).read_bytes()
    for length in range(1, len(whole), 7):
        (tmp_path / "cut.xlsx").write_bytes(whole[:length])
        with pytest.raises(Unreadable):
            open_package(tmp_path / "cut.xlsx")


# Bounds.


def test_bounds_of_size_members_and_expansion(tmp_path, monkeypatch):
    path = handmade.pack(tmp_path / "some.xlsx", WORKBOOK)
    for limit, says in {"FILE_BYTES": "larger than 50 bytes", "MEMBERS": "more than 50 parts"}.items():
        with monkeypatch.context() as patch, pytest.raises(Unreadable, match=says):
            patch.setattr(package, limit, 50)
            open_package(handmade.pack(path, WORKBOOK | {f"xl/{number}.xml": "" for number in range(50)}))
    for limit, says in {"PART_BYTES": "expands", "ALL_BYTES": "expands", "PART_MARKS": "more than 5 tags"}.items():
        with monkeypatch.context() as patch, pytest.raises(Unreadable, match=says):
            patch.setattr(package, limit, 5)
            open_package(path).xml("xl/workbook.xml")


PART = WORKBOOK["xl/workbook.xml"]
EXACTLY = {
    "FILE_BYTES": lambda path: path.stat().st_size,
    "MEMBERS": lambda path: len(WORKBOOK),
    "PART_BYTES": lambda path: len(PART),
    "ALL_BYTES": lambda path: len(PART),
    "PART_MARKS": lambda path: max(PART.count("<"), PART.count("=")),
}


@pytest.mark.parametrize("limit", EXACTLY)
def test_a_bound_is_the_most_that_is_read(tmp_path, monkeypatch, limit):
    path = handmade.pack(tmp_path / "some.xlsx", WORKBOOK)
    exactly = EXACTLY[limit](path)
    monkeypatch.setattr(package, limit, exactly)
    assert open_package(path).xml("xl/workbook.xml").tag.endswith("workbook")
    monkeypatch.setattr(package, limit, exactly - 1)
    with pytest.raises(Unreadable):
        open_package(path).xml("xl/workbook.xml")


@pytest.mark.parametrize(("mark", "most"), {"<b/>": 98, "=": 100}.items())  # <a> and </a> are two of the tags
def test_both_marks_of_a_part_are_counted(tmp_path, monkeypatch, mark, most):
    members = {"xl/most.xml": f"<a>{mark * most}</a>", "xl/more.xml": f"<a>{mark * (most + 1)}</a>"}
    opened = open_package(handmade.pack(tmp_path / "some.xlsx", WORKBOOK | members))
    monkeypatch.setattr(package, "PART_MARKS", 100)
    opened.xml("xl/most.xml")
    with pytest.raises(Unreadable, match="more than 100 tags"):
        opened.xml("xl/more.xml")


@pytest.mark.parametrize(("what", "limit"), package.LIMITS.items())
def test_a_count_may_be_exactly_its_limit(tmp_path, what, limit):
    opened = open_package(handmade.pack(tmp_path / "some.xlsx", WORKBOOK))
    opened.bound(what, limit)
    with pytest.raises(Unreadable, match=f"more than {limit:,} {what}"):
        opened.bound(what, limit + 1)


def test_all_parts_together_are_bounded(tmp_path, monkeypatch):
    opened = open_package(handmade.pack(tmp_path / "some.xlsx", WORKBOOK))
    monkeypatch.setattr(package, "ALL_BYTES", 2 * len(WORKBOOK["xl/workbook.xml"]))
    opened.xml("xl/workbook.xml")
    opened.xml("xl/workbook.xml")
    with pytest.raises(Unreadable, match="expands beyond"):
        opened.xml("xl/workbook.xml")


def test_the_headers_word_for_a_size_is_not_taken(tmp_path, monkeypatch):
    path = handmade.pack(tmp_path / "lying.xlsx", WORKBOOK | {"xl/workbook.xml": "x" * 100_000})
    data = path.read_bytes().replace((100_000).to_bytes(4, "little"), (10).to_bytes(4, "little"))
    path.write_bytes(data)
    with pytest.raises(Unreadable, match="damaged"):
        open_package(path).xml("xl/workbook.xml")


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("twin", ["xl/workbook.xml", "XL/Workbook.xml", "xl\\workbook.xml"])
def test_a_part_that_is_there_twice(tmp_path, twin):
    path = handmade.pack(tmp_path / "twice.xlsx", WORKBOOK)
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr(twin, "another")
    with pytest.raises(Unreadable, match="twice"):
        open_package(path)


def test_a_zip_with_a_password(tmp_path):
    path = handmade.pack(tmp_path / "locked.xlsx", WORKBOOK)
    data = bytearray(path.read_bytes())
    data[data.index(b"PK\1\2") + 8] |= 1  # APPNOTE 4.4.4: bit 0 of the flags
    path.write_bytes(data)
    with pytest.raises(Unreadable, match="password"):
        open_package(path)


def test_a_compression_that_no_workbook_has(tmp_path):
    path = handmade.pack(tmp_path / "odd.xlsx", WORKBOOK)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_LZMA) as archive:
        archive.writestr("xl/other.xml", "x")
    with pytest.raises(Unreadable, match="compressed"):
        open_package(path)


# XML.


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_a_doctype_is_refused_in_every_encoding(tmp_path, encoding):
    text = '<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/hostname">]><a>&b;</a>'
    opened = open_package(handmade.pack(tmp_path / "dtd.xlsx", WORKBOOK | {"xl/a.xml": text.encode(encoding)}))
    with pytest.raises(Unreadable, match="DOCTYPE"):
        opened.xml("xl/a.xml")


def test_a_doctype_is_not_smuggled_in_by_the_name_of_an_encoding(tmp_path):
    """In EBCDIC and UTF-7 the bytes of `<!DOCTYPE` are others: neither is an encoding that a workbook may have."""
    text = '<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'
    for declared, data in (("IBM037", text.encode("cp037")), ("UTF-7", text.replace("<", "+ADw-").encode())):
        part = f'<?xml version="1.0" encoding="{declared}"?>'.encode() + data
        opened = open_package(handmade.pack(tmp_path / "smuggled.xlsx", WORKBOOK | {"xl/a.xml": part}))
        with pytest.raises(Unreadable, match=r"damaged|encoding"):
            opened.xml("xl/a.xml")


DECLARED = {
    "the same": ("UTF-8", "utf-8", True),
    "the same in small letters": ("utf-8", "utf-8", True),
    "with a mark": ("UTF-8", "utf-8-sig", True),
    "two bytes": ("UTF-16", "utf-16", True),
    "two bytes without a mark": ("UTF-16", "utf-16-le", True),
    "seven bits": ("UTF-7", "utf-8", False),
    "one byte": ("ISO-8859-1", "iso-8859-1", False),
    "two bytes that are one": ("UTF-16", "utf-8", False),
    "one byte that is two": ("UTF-8", "utf-16", False),
    "seven bits of text": ("us-ascii", "utf-8", False),
}


@pytest.mark.parametrize(("declared", "encoding", "is_read"), DECLARED.values(), ids=DECLARED)
def test_a_part_is_in_the_encoding_that_it_declares(tmp_path, declared, encoding, is_read):
    data = f'<?xml version="1.0" encoding="{declared}"?><a>é</a>'.encode(encoding)
    opened = open_package(handmade.pack(tmp_path / "x.xlsx", WORKBOOK | {"xl/a.xml": data}))
    if is_read:
        assert opened.xml("xl/a.xml").text == "é"
    else:
        with pytest.raises(Unreadable, match=r"damaged|encoding that programs read differently"):
            opened.xml("xl/a.xml")


def test_an_unknown_entity_and_an_include_bring_nothing_in(tmp_path):
    include = '<a xmlns:i="http://www.w3.org/2001/XInclude"><i:include href="/etc/hostname" parse="text"/></a>'
    parts = WORKBOOK | {"xl/a.xml": "<a>&b;</a>", "xl/b.xml": include}
    opened = open_package(handmade.pack(tmp_path / "x.xlsx", parts))
    with pytest.raises(Unreadable, match="damaged"):
        opened.xml("xl/a.xml")
    assert "".join(opened.xml("xl/b.xml").itertext()) == ""


# What is in it beside cells.


def test_observations(tmp_path):
    extra = {
        "xl/vbaProject.bin": "macro",
        "xl/macrosheets/sheet1.xml": "macro",
        "xl/externalLinks/externalLink1.xml": "external link",
        "xl/embeddings/oleObject1.bin": "embedded object",
        "xl/activeX/activeX1.xml": "ActiveX control",
        "xl/connections.xml": "data connection",
    }
    members = WORKBOOK | dict.fromkeys([*extra, "xl/media/image1.png"], "not opened")
    path = handmade.pack(tmp_path / "more.xlsx", members)
    assert open_package(path).observations == tuple((kind, member) for member, kind in extra.items())


def test_a_plain_workbook_has_none(tmp_path):
    assert open_package(handmade.rich_workbook(tmp_path / "rich.xlsx")).observations == ()


def test_only_what_is_asked_for_is_decompressed(tmp_path):
    """A part of 30 MB that nobody needs, a photograph say, does no harm."""
    path = handmade.pack(tmp_path / "photo.xlsx", WORKBOOK | {"xl/media/image1.bmp": bytes(30_000_000)})
    assert open_package(path).xml("xl/workbook.xml").tag.endswith("workbook")
