"""Opens a file from outside, and bounds it before anything in it is parsed.

`open_package` reads the file once. If it is no .xlsx or .ods, one sentence says what it is. The parts of the
package are then decompressed and parsed one at a time, when they are asked for, each under the limits below.
Nothing in the package is run, followed or fetched; macros, links and embedded objects are noted by name.

The limits are far above any quote (about 60 KB, 15 parts, 200 KB expanded) and keep the memory for a hostile file
under 300 MB. They apply to what is really decompressed, whatever the headers say.
"""

import re
import stat
import struct
import zlib
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from quotebook.errors import Unreadable

if TYPE_CHECKING:
    from lxml.etree import _Element

FILE_BYTES = 20_000_000
"""The largest file that is read."""
MEMBERS = 2_000
"""The most parts of a package."""
PART_BYTES = 16_000_000
"""The largest part, decompressed."""
ALL_BYTES = 40_000_000
"""The most that all parts together may decompress to."""
PART_MARKS = 300_000
"""The most `<`, and the most `=`, in one part: libxml2 needs up to 500 bytes for a pair of them."""

LIMITS = {
    "sheets": 200,
    "defined names": 20_000,
    "cells": 200_000,
    "characters in one text": 32_767,
    "characters of shared formulas": 1_000_000,
}
"""The most that a workbook may hold. The length of a text is the format's own limit ("Excel specifications and
limits"). A shared formula is written once for any number of cells, so its copies alone could fill the memory."""

SAVE = "open it in a spreadsheet program and save it as .xlsx"
AGAIN = "ask for it to be sent again"
PASSWORD = "is protected by a password; open it with the password and save it without one, as .xlsx"

DAMAGE = (BadZipFile, zlib.error, struct.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError)
"""Errors that zipfile raises for damaged bytes."""

OBSERVED = {
    "macro": re.compile(r"(.*/)?vbaproject\.bin|(xl/macrosheets|basic|scripts)/.+"),
    "external link": re.compile(r"xl/externallinks/[^/]+"),
    "embedded object": re.compile(r"xl/embeddings/.+|object \d+"),
    "ActiveX control": re.compile(r"xl/activex/[^/]+"),
    "data connection": re.compile(r"xl/connections\.xml|xl/querytables/.+"),
}
"""Members that are reported, by patterns for their names in lower case."""

ROUNDING = "setting that rounds figures to what is shown"
"""Reported too: with this setting, the format of a cell changes the results of formulas that read it."""

OTHER_ZIPS = {
    "xl/workbook.bin": f"is a binary .xlsb workbook; {SAVE}",
    "index/document.iwa": "is a .numbers document; export it from Numbers as Excel (.xlsx)",
    "index.zip": "is a .numbers document; export it from Numbers as Excel (.xlsx)",
    "word/document.xml": "is a text document (.docx), not a workbook; ask for the workbook",
    "ppt/presentation.xml": "is a presentation (.pptx), not a workbook; ask for the workbook",
}
"""Members that show what else the zip is, each with the sentence about it."""


MARKS = {
    b"\xef\xbb\xbf": "utf-8-sig",
    b"\xff\xfe": "utf-16",
    b"\xfe\xff": "utf-16",
    b"<\0": "utf-16-le",
    b"\0<": "utf-16-be",
}
"""What a part in XML begins with, by its encoding; one in UTF-8 needs no mark."""
DECLARATION = re.compile(
    r"""<\?xml\s+version\s*=\s*(?:"1\.0"|'1\.0')(?:\s+encoding\s*=\s*["'](?P<encoding>[\w.-]+)["'])?"""
    r"""(?:\s+standalone\s*=\s*["'](?:yes|no)["'])?\s*\?>"""
)


@dataclass(slots=True)
class Package:
    """An .xlsx or .ods whose parts can be asked for by name, in any case of letters."""

    path: Path
    kind: str
    """"xlsx" or "ods"."""
    observations: tuple[tuple[str, str], ...]
    """What the package holds besides cells, as (kind, member), in the order of the file."""
    exact_names: frozenset[str]
    """The names of all parts, exactly as the file spells them."""
    _archive: ZipFile
    _members: dict[str, ZipInfo]
    scale: int = 1
    """How many times the limits of a quote apply: more than once for the owner's own large books."""
    _expanded: int = 0

    def unreadable(self, why: str) -> Unreadable:
        """An error that names the file; `why` continues the sentence."""
        return Unreadable(f"{self.path}: {why}")

    def damaged(self, where: str, error: Exception) -> Unreadable:
        """An error that says what is wrong at `where` in the file; a LookupError gives only what was found there."""
        found = f"found {error}" if isinstance(error, LookupError) else str(error)
        return self.unreadable(f"{where} is damaged ({found[:100]}); {AGAIN}")

    def bound(self, what: str, count: int) -> None:
        """Raises Unreadable where a count is over its limit in LIMITS."""
        if count > LIMITS[what] * self.scale:
            raise self.unreadable(f"has more than {LIMITS[what]:,} {what}; {SAVE}, without what was added")

    @property
    def members(self) -> list[str]:
        """The names of all parts, in the order of the file."""
        return [info.filename for info in self._members.values() if not info.is_dir()]

    def has(self, member: str) -> bool:
        """Whether the package has a part of that name, in any case of letters."""
        return member.lower() in self._members

    def xml(self, member: str) -> "_Element":
        """The root element of a part. Raises Unreadable where the part is missing, too large or no plain XML."""
        return self.parsed(member, self.utf8(member))

    def utf8(self, member: str) -> bytes:
        """The bytes of a part in XML, in UTF-8. Raises Unreadable where it is missing, or has too much to be parsed."""
        data = self._as_utf8(member, self.read(member))
        self._bound_xml(member, data)
        return data

    def parsed(self, member: str, data: bytes) -> "_Element":
        """The root element of what `utf8` gave of a part. Raises Unreadable where it is no XML."""
        from lxml import etree

        parser = etree.XMLParser(
            encoding="utf-8",
            resolve_entities=False,
            no_network=True,
            huge_tree=False,
            remove_comments=True,
            remove_pis=True,
            collect_ids=False,
        )
        try:
            return etree.fromstring(data, parser)
        except etree.XMLSyntaxError as error:
            raise self.unreadable(f"part {_short(member)} is damaged at line {error.lineno}; {AGAIN}") from None

    def read(self, member: str) -> bytes:
        """The bytes of a part. Raises Unreadable where the part is missing, damaged or too large."""
        info = self._members.get(member.lower())
        if info is None:
            raise self.unreadable(f"part {_short(member)} is missing; {AGAIN}")
        try:
            with self._archive.open(info) as stream:
                data = stream.read(PART_BYTES * self.scale + 1)
        except DAMAGE:
            raise self.unreadable(f"part {_short(member)} is damaged; {AGAIN}") from None
        self._expanded += len(data)
        if len(data) > PART_BYTES * self.scale or self._expanded > ALL_BYTES * self.scale:
            raise self.unreadable(
                f"part {_short(member)} expands beyond what a quote can be"
                f" ({PART_BYTES:,} bytes a part, {ALL_BYTES:,} in all); {SAVE}, without what was added"
            )
        return data

    def _as_utf8(self, member: str, data: bytes) -> bytes:
        """A part in UTF-8, so that its tags can be counted. Raises Unreadable where it is in neither of the two
        encodings that the format allows (OPC), or declares another than it is in: programs follow the declaration."""
        encoding = next((name for mark, name in MARKS.items() if data.startswith(mark)), "utf-8")
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            raise self.unreadable(f"part {_short(member)} is damaged; {AGAIN}") from None
        declaration = DECLARATION.match(text) if text.startswith("<?xml") else None
        declared = (declaration and declaration["encoding"]) or encoding
        if (text.startswith("<?xml") and not declaration) or not encoding.startswith(declared.lower()):
            raise self.unreadable(f"part {_short(member)} is in an encoding that programs read differently; {SAVE}")
        return data if encoding == "utf-8" else text.encode()

    def _bound_xml(self, member: str, data: bytes) -> None:
        """Raises Unreadable for too many tags, and for a document type, whose entities could grow without end."""
        if b"<!DOCTYPE" in data:
            raise self.unreadable(f"part {_short(member)} has a DOCTYPE, which no spreadsheet program writes; {SAVE}")
        most = PART_MARKS * self.scale
        if len(data) > most and max(data.count(b"<"), data.count(b"=")) > most:
            part = _short(member)
            raise self.unreadable(f"part {part} has more than {PART_MARKS:,} tags; {SAVE}, without what was added")


def _short(name: str) -> str:
    """A name from the file for a message: quoted, printable and short."""
    return repr(name if len(name) <= 60 else f"{name[:57]}...")


def open_package(path: str | Path, scale: int = 1) -> Package:
    """The package in a file, under `scale` times the limits of a quote.

    Raises Unreadable where it is none, with what the file is and what to do.
    """
    path = Path(path)
    data = _read_file(path)
    other_format = _describe_other_format(data)
    if other_format:
        raise Unreadable(f"{path}: {other_format}")
    archive, members = _open_zip(path, data)
    for member, sentence in OTHER_ZIPS.items():
        if member in members:
            raise Unreadable(f"{path}: {sentence}")
    names = frozenset(info.filename for info in members.values())
    package = Package(path, _kind(path, members), _observations(members), names, archive, members, scale)
    if package.kind == "ods" and b"encryption-data" in package.read("META-INF/manifest.xml"):
        raise Unreadable(f"{path}: {PASSWORD}")
    return package


def _read_file(path: Path) -> bytes:
    """The bytes of a regular file. Raises Unreadable where it cannot be read, or is larger than FILE_BYTES."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise Unreadable(f"{path}: is a folder; name a workbook in it")
        if not stat.S_ISREG(status.st_mode):
            raise Unreadable(f"{path}: is not a file that can be read to its end; save the workbook to a file")
        with path.open("rb") as stream:
            size = min(status.st_size, FILE_BYTES)
            data = stream.read(size + 1)
            if len(data) > size:  # it has grown, or does not say its size
                data += stream.read(FILE_BYTES + 1 - len(data))
    except FileNotFoundError:
        raise Unreadable(f"{path}: there is no such file; check the name") from None
    except PermissionError:
        raise Unreadable(f"{path}: may not be read; change its permissions or copy it elsewhere") from None
    except (OSError, ValueError) as error:
        raise Unreadable(f"{path}: could not be read ({error})") from None
    if len(data) > FILE_BYTES:
        raise Unreadable(f"{path}: is larger than {FILE_BYTES:,} bytes; {SAVE}, without pictures that were added")
    return data


def _describe_other_format(data: bytes) -> str | None:
    """What the bytes are and what to do, as the end of a sentence; None where they are a zip."""
    start = data[:2000].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if not start:
        return f"is empty; {AGAIN}"
    if data.startswith((b"PK\3\4", b"PK\5\6")):
        return None
    if data.startswith(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
        return PASSWORD if _has_stream(data, "EncryptedPackage") else _describe_old_office(data)
    if start.startswith(b"%pdf"):
        return "is a PDF, in which no formula can be checked; ask for the workbook itself"
    if start.startswith(b"<"):
        return _describe_markup(data)
    if b"\0" not in data[:2000]:
        return "is plain text or CSV, without formulas; ask for the workbook itself, saved as .xlsx"
    return f"is not a workbook; {SAVE}"


def _has_stream(data: bytes, name: str) -> bool:
    """Whether a compound file has a stream or storage of that name, which is in UTF-16 ([MS-CFB] 2.6.1)."""
    return name.encode("utf-16-le") in data


def _describe_old_office(data: bytes) -> str:
    if _has_stream(data, "Workbook") or _has_stream(data, "Book"):
        return f"is an old .xls workbook; {SAVE}"
    return "is an old Office file, but not a workbook; ask for the workbook, saved as .xlsx"


def _describe_markup(data: bytes) -> str:
    if b"urn:schemas-microsoft-com:office:spreadsheet" in data or b"office:document" in data:
        return f"is a workbook in one XML file; {SAVE}"
    return f"is HTML or XML, not a workbook; {SAVE}"


def _open_zip(path: Path, data: bytes) -> tuple[ZipFile, dict[str, ZipInfo]]:
    """The archive, and its members by name, in lower case with `/` between folders. Raises Unreadable."""
    if data.count(b"PK\x01\x02") > MEMBERS:
        raise Unreadable(f"{path}: has more than {MEMBERS:,} parts; {SAVE}")
    try:
        archive = ZipFile(BytesIO(data))
    except DAMAGE:
        raise Unreadable(f"{path}: is cut short or damaged; {AGAIN}") from None
    members: dict[str, ZipInfo] = {}
    for info in archive.infolist():
        name = info.filename.replace("\\", "/").lower()
        if name in members:
            raise Unreadable(f"{path}: has part {_short(name)} twice, and programs differ over which to read; {SAVE}")
        if info.flag_bits & 1:
            raise Unreadable(f"{path}: {PASSWORD}")
        if info.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise Unreadable(f"{path}: part {_short(name)} is compressed in a way no workbook is; {SAVE}")
        members[name] = info
    return archive, members


def _kind(path: Path, members: dict[str, ZipInfo]) -> str:
    """ "xlsx" or "ods", by the parts that each must have. Raises Unreadable for any other zip."""
    if "[content_types].xml" in members and "_rels/.rels" in members:
        return "xlsx"
    if "content.xml" in members and "meta-inf/manifest.xml" in members:
        return "ods"
    raise Unreadable(f"{path}: is a zip, but not a workbook; if the workbook is inside, unpack it first")


def _observations(members: dict[str, ZipInfo]) -> tuple[tuple[str, str], ...]:
    """The members that OBSERVED lists, as (kind, member)."""
    return tuple(
        (kind, info.filename)
        for name, info in members.items()
        for kind, pattern in OBSERVED.items()
        if pattern.fullmatch(name)
    )
