"""A logo read from a file: its bytes and its size in pixels, from the heads of PNG and JPEG. Placing it is in `picture`."""

from __future__ import annotations

import struct
from dataclasses import dataclass

LARGEST = 500_000  # bytes: a workbook is mailed about
MOST_PIXELS = 5_000  # a side
_PNG = b"\x89PNG\r\n\x1a\n"
_JPEG = b"\xff\xd8\xff"
# Start of frame, which holds the size; the codes left out define tables (ITU-T T.81, table B.1).
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}


@dataclass(frozen=True)
class Logo:
    """A picture: `kind` "png" or "jpeg", width and height in pixels."""

    content: bytes
    kind: str
    width: int
    height: int


def read_logo(content: bytes) -> Logo:
    """The picture held in a file. Raises ValueError, saying what it is not, for anything but a PNG or JPEG of fair size."""
    if content.startswith(_PNG):
        kind, size = "png", _png_size(content)
    elif content.startswith(_JPEG):
        kind, size = "jpeg", _jpeg_size(content)
    else:
        raise ValueError("is neither PNG nor JPEG")
    if size is None or not all(size):
        raise ValueError(f"is a {kind.upper()} that breaks off or says no size")
    if max(size) > MOST_PIXELS:
        raise ValueError(f"is too large: {size[0]} x {size[1]} pixels, at most {MOST_PIXELS:,} a side")
    return Logo(content, kind, *size)


def _png_size(content: bytes) -> tuple[int, int] | None:
    """From the IHDR chunk, which comes first (ISO/IEC 15948)."""
    if len(content) < 33 or content[12:16] != b"IHDR" or b"IEND" not in content[-16:]:
        return None
    width, height = struct.unpack(">II", content[16:24])
    return width, height


def _jpeg_size(content: bytes) -> tuple[int, int] | None:
    """From the first start of frame, found by going from segment to segment (ITU-T T.81)."""
    place = 2
    while place + 9 <= len(content) and content[place] == 0xFF:
        code, length = content[place + 1], int.from_bytes(content[place + 2 : place + 4], "big")
        if code == 0xFF:  # filling before a marker
            place += 1
            continue
        if code in _FRAMES:
            height, width = struct.unpack(">HH", content[place + 5 : place + 9])
            return width, height
        place += 2 + length
    return None
