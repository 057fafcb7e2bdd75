"""The firm's logo as a client gets it: the picture alone, without the other information in its file.

A picture file can reveal who made it, with which program, in which folder, where and when (PNG specification, 11.3;
JPEG application segments). Only the parts that draw the picture are kept.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass

MOST_BYTES = 500_000
"""The largest logo, because it goes out with every quote."""

PNG = b"\x89PNG\r\n\x1a\n"
PNG_PARTS = (b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND")
"""The chunks that draw the picture."""

JPEG = b"\xff\xd8"
JPEG_SIZES = {*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC}
"""Markers of the segments that give the picture's size."""
JPEG_COLOURS = 0xEE
"""The marker of an application segment without which some programs show wrong colours."""
JPEG_SCAN = 0xDA
"""The marker of the segment before the pixels."""


class NoPicture(Exception):
    """Raised for bytes that cannot be a logo; its text says what is allowed."""


@dataclass(frozen=True)
class Logo:
    """A PNG or JPEG picture, and its size in pixels."""

    data: bytes
    width: int
    height: int


def read_logo(data: bytes) -> Logo:
    """The picture in the bytes of a file, without anything else. Raises NoPicture for other bytes, and for too many."""
    if len(data) > MOST_BYTES:
        raise NoPicture(f"a picture of at most {MOST_BYTES:,} bytes")
    try:
        return _png(data) if data.startswith(PNG) else _jpeg(data)
    except (struct.error, ValueError, IndexError) as error:
        raise NoPicture("a whole PNG or JPEG picture") from error


def _png(data: bytes) -> Logo:
    """A PNG picture, reduced to the chunks that draw it. Raises ValueError and struct.error for a damaged one."""
    chunks = [chunk for name, chunk in _png_chunks(data) if name in PNG_PARTS]
    width, height = struct.unpack(">II", chunks[0][8:16])
    return _sized(PNG + b"".join(chunks), width, height)


def _png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """The name of each chunk, and its bytes: length, name, content, checksum."""
    at, name = len(PNG), b""
    while name != b"IEND":
        length, name = struct.unpack_from(">I4s", data, at)
        if at + length + 12 > len(data):
            raise ValueError
        yield name, data[at : at + length + 12]
        at += length + 12


def _jpeg(data: bytes) -> Logo:
    """A JPEG picture without its comments and application segments. Raises ValueError and struct.error."""
    if not data.startswith(JPEG):
        raise ValueError
    kept, at, width, height = [JPEG], len(JPEG), 0, 0
    while True:
        start, marker, length = struct.unpack_from(">BBH", data, at)
        if start != 0xFF:
            raise ValueError
        segment = data[at : at + 2 + length]
        if marker == JPEG_SCAN:
            end = data.index(b"\xff\xd9", at) + 2  # a picture may come after this one, with facts of its own
            return _sized(b"".join(kept) + data[at:end], width, height)
        if marker in JPEG_SIZES:
            height, width = struct.unpack_from(">HH", segment, 5)
        if marker == JPEG_COLOURS or not (0xE0 <= marker <= 0xEF or marker == 0xFE):
            kept.append(segment)
        at += 2 + length


def _sized(data: bytes, width: int, height: int) -> Logo:
    """A logo that has a size. Raises ValueError for one without."""
    if not width or not height:
        raise ValueError
    return Logo(data, width, height)
