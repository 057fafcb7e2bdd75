"""The firm's logo: bare, in its box, on the first sheet's one page, and no trouble to the check."""

import base64
import os
import re
import shutil
import struct
import subprocess
import zipfile
import zlib
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotebook import desk as desks
from quotebook.checking.check import check_file
from quotebook.client.logo import MOST_BYTES, NoPicture, read_logo
from quotebook.client.quote_head import LOGO
from quotebook.client.workbook import SHEETS
from quotebook.demonstration.demo import EVENTS
from quotebook.errors import InvalidInput
from quotebook.quoting.issuing import issue

TODAY = date(2027, 1, 4)
EMU = 9525
"""English metric units of a pixel (ECMA-376 20.1.10.16: 914,400 to the inch)."""
SECRET = b"C:\\Users\\somebody\\logos\\draft.psd"


def chunk(name, content):
    """One chunk of a PNG (PNG specification, 5.3)."""
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))


def png(width, height, *more):
    """A PNG of stripes, with more chunks before its picture."""
    rows = b"".join(b"\0" + bytes((31, 92, 77) if row // 9 % 2 else (192, 138, 62)) * width for row in range(height))
    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = (chunk(b"IHDR", size), *more, chunk(b"IDAT", zlib.compress(rows)), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


TELLING = (
    chunk(b"tEXt", b"Author\0" + SECRET),
    chunk(b"eXIf", b"MM\0*" + SECRET),
    chunk(b"tIME", b"\x07\xeb" + bytes(5)),
)
"""Chunks that say who made a picture, where and when."""

JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQEAAgACAAD/2wBDABQODxIPDRQSEBIXFRQYHjIhHhwcHj0sLiQySUBMS0dARkVQWnNiUFVtVkVGZIhlbXd7gYKBTmCNl4x9lnN+gXz/"
    "2wBDARUXFx4aHjshITt8U0ZTfHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHx8fHz/wAARCAAWABEDASIAAhEBAxEB/8QA"
    "HwAAAQUBAQEBAQEAAAAAAAAAAAECAwQFBgcICQoL/8QAtRAAAgEDAwIEAwUFBAQAAAF9AQIDAAQRBRIhMUEGE1FhByJxFDKBkaEII0KxwRVS0fAkM2JyggkK"
    "FhcYGRolJicoKSo0NTY3ODk6Q0RFRkdISUpTVFVWV1hZWmNkZWZnaGlqc3R1dnd4eXqDhIWGh4iJipKTlJWWl5iZmqKjpKWmp6ipqrKztLW2t7i5usLDxMXG"
    "x8jJytLT1NXW19jZ2uHi4+Tl5ufo6erx8vP09fb3+Pn6/8QAHwEAAwEBAQEBAQEBAQAAAAAAAAECAwQFBgcICQoL/8QAtREAAgECBAQDBAcFBAQAAQJ3AAEC"
    "AxEEBSExBhJBUQdhcRMiMoEIFEKRobHBCSMzUvAVYnLRChYkNOEl8RcYGRomJygpKjU2Nzg5OkNERUZHSElKU1RVVldYWVpjZGVmZ2hpanN0dXZ3eHl6goOE"
    "hYaHiImKkpOUlZaXmJmaoqOkpaanqKmqsrO0tba3uLm6wsPExcbHyMnK0tPU1dbX2Nna4uPk5ebn6Onq8vP09fb3+Pn6/9oADAMBAAIRAxEAPwDoZbYCYu89"
    "6AzE7RLhevQY5AqRreJRkrdgf9fD/wDxVLKimYkjAz/dPP6VMfJGcxdPSMn+lAEu7/Zb8qKdRQBG0RY58xx9Mf4VBJYRSOXcuWPXkUUUAW6KKKAP/9k="
)
"""A picture of 17 x 22, made by pdftoppm."""


def segment(marker, content):
    """One segment of a JPEG (ITU-T T.81, B.1.1.4)."""
    return struct.pack(">BBH", 0xFF, marker, len(content) + 2) + content


def telling(jpeg):
    """The same picture from a camera that tells its owner's folder, in three places."""
    told = segment(0xE1, b"Exif\0\0" + SECRET) + segment(0xED, b"Photo" + SECRET) + segment(0xFE, SECRET)
    return jpeg[:2] + told + jpeg[2:] + SECRET


def test_a_png_keeps_its_picture_and_loses_the_rest():
    bare, logo = read_logo(png(90, 40)), read_logo(png(90, 40, *TELLING) + SECRET)
    assert logo == bare and (logo.width, logo.height) == (90, 40)
    assert logo.data == png(90, 40)


def test_a_second_picture_behind_a_jpeg_is_lost():
    """As phones append one, with facts of its own."""
    assert read_logo(JPEG + telling(JPEG)) == read_logo(JPEG)


def test_a_jpeg_keeps_its_picture_and_loses_the_rest():
    logo = read_logo(telling(JPEG))
    assert (logo.width, logo.height) == (17, 22)
    assert SECRET not in logo.data and b"JFIF" not in logo.data
    assert logo == read_logo(JPEG) and logo.data.endswith(JPEG[JPEG.index(b"\xff\xdb\x00\x43\x01") :])


NO_PICTURES = {
    "empty": b"", "text": b"a logo", "GIF": b"GIF89a" + bytes(40), "half a PNG": png(90, 40)[:60],
    "half a JPEG": JPEG[:300], "a PNG of no size": png(0, 0), "a JPEG without its end": JPEG[:-2],
    "signature alone": b"\x89PNG\r\n\x1a\n", "too large": bytes(MOST_BYTES + 1),
}  # fmt: skip


@pytest.mark.parametrize("case", NO_PICTURES)
def test_what_is_no_picture_is_refused(case):
    with pytest.raises(NoPicture, match="picture"):
        read_logo(NO_PICTURES[case])


@given(st.sampled_from((png(30, 20), JPEG)), st.integers(0, 700), st.binary(max_size=6))
def test_any_damage_is_a_picture_or_refused(data, at, put):
    try:
        logo = read_logo(data[:at] + put + data[at + len(put) :])
    except NoPicture:
        return
    assert logo.width > 0 and logo.height > 0


# On the quote


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    """A quote with each kind of logo, by the logo's file name."""
    made = {}
    for name, data in (("somebody-s-draft-7.png", png(900, 90, *TELLING)), ("somebody-s-scan.JPG", telling(JPEG))):
        desk = desks.init(tmp_path_factory.mktemp("desk") / "desk")
        (desk.folder / name).write_bytes(data)
        card = desk.card()
        path, _ = issue(desk, replace(card, firm=replace(card.firm, logo=name)), EVENTS[0], "Q0001", TODAY)
        made[name] = desk, path
    return made


def test_a_quote_with_a_logo_comes_back_clean_and_tells_nothing(issued):
    for name, (desk, path) in issued.items():
        assert check_file(path, desk, TODAY).verdict == "agrees"
        with zipfile.ZipFile(path) as package:
            parts = b"".join(package.read(part) + part.encode() for part in package.namelist())
            assert [part for part in package.namelist() if "media" in part] == [
                f"xl/media/image1.{name[-3:].lower().replace('jpg', 'jpeg')}"
            ]
            drawing = package.read("xl/drawings/drawing1.xml").decode()
        assert SECRET not in parts and b"somebody-s" not in parts
        assert re.findall(r'(?:name|descr)="(.*?)"', drawing) == ["Picture 1", desk.card().firm.firm]


def test_a_logo_is_scaled_into_its_box_and_never_up(issued):
    sizes = {}
    for name, (_, path) in issued.items():
        with zipfile.ZipFile(path) as package:
            extent = re.search(r'<a:ext cx="(\d+)" cy="(\d+)"/>', package.read("xl/drawings/drawing1.xml").decode())
        sizes[name] = tuple(round(int(side) / EMU) for side in extent.groups())
    assert list(sizes.values()) == [(360, 36), (17, 22)]
    assert all(width <= LOGO[0] and height <= LOGO[1] for width, height in sizes.values())


def test_it_prints_on_the_same_five_pages(issued, soffice, tmp_path):
    if shutil.which("pdfimages") is None:
        (pytest.fail if os.environ.get("QUOTEBOOK_REQUIRE_ENGINES") else pytest.skip)("pdfimages is not installed")
    paths = []
    for number, (_, path) in enumerate(issued.values()):
        paths.append(tmp_path / f"{number}.xlsx")
        paths[-1].write_bytes(path.read_bytes())
    for pdf, size in zip(soffice.convert(paths, tmp_path / "pdf", to="pdf"), ((900, 90), (17, 22)), strict=True):
        said = subprocess.run(["pdfimages", "-list", pdf], capture_output=True, text=True, check=True).stdout
        page, _, _, width, height = said.splitlines()[2].split()[:5]
        assert (page, int(width) / int(height)) == ("1", pytest.approx(size[0] / size[1], rel=0.05))
        pages = subprocess.run(["pdfinfo", pdf], capture_output=True, text=True, check=True).stdout
        assert f"Pages:           {len(SHEETS)}" in pages


def test_what_is_no_picture_stops_the_quote_in_a_sentence(tmp_path):
    desk = desks.init(tmp_path / "desk")
    (desk.folder / "logo.png").write_bytes(b"no picture")
    card = desk.card()
    with pytest.raises(InvalidInput, match=r"logo\.png: the rate card's logo cannot be put on a quote"):
        issue(desk, replace(card, firm=replace(card.firm, logo="logo.png")), EVENTS[0], "Q0001", TODAY)
    assert not desk.issued_path("Q0001", 1).exists()
    with pytest.raises(InvalidInput, match="No such file"):
        issue(desk, replace(card, firm=replace(card.firm, logo="gone.png")), EVENTS[0], "Q0001", TODAY)
