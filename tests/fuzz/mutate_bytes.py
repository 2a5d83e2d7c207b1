"""Faults that any text file can have: noise, cuts, wrong encodings, doubled and exchanged lines."""

from __future__ import annotations

from random import Random

from tests.fuzz.mutant import NOTHING, Base, Change, Operation

# What people paste, and what breaks readers.
ODD_TEXTS = (
    "", " ", "\t", "=1+1", "+cmd", "-1", "@x", "\uff1d1+1", "'", '"', '""', "a\nb", "a\r\nb", "\x1b[31mred",
    "\x07", "\x7f", "\u202eabc",
    "\ufeff", "\u00a0", "\u2028", "\u0661\u0662", "1\u00b2", "\u2460", "\U0001f5a8", "e\u0301", "x" * 300,
    "9" * 400, "1e999", "-1e999", "nan",
    "inf", "-inf", "NaN", "Infinity", "0x10", "1_000", "1,000", "1.000,00", "1 000", "12,5", ".5", "5.",
    "--5", "1/0", "1/2",
    "#REF!", "#N/A", "true", "None", "null", "../../etc/passwd", "C:\\x", "{0}", "{a}", "%s", "\\",
    "<a>&</a>", "]]>", "\x00", "\x01",
    "2025-02-30", "30/02/2025", "9999-12-31", "0000-00-00", "1899-12-30", "45000", "1e15", "1e-300", "0",
    "-0",
    "9**9**9 m", "((((", "m" * 59, "1/1/1/1/1/1", "USD/plate", "7 min/min/min", "2 m2*m2*m2*m2*m2*m2",
    "\ud7ff", "\ufffd",
)  # fmt: skip


def noise(draw: Random, base: Base) -> Change:
    """A few bytes replaced by any."""
    raw = bytearray(base.content)
    for _ in range(draw.choice([1, 1, 2, 5, 20])):
        raw[draw.randrange(len(raw))] = draw.randrange(256)
    return bytes(raw), NOTHING


def bits(draw: Random, base: Base) -> Change:
    """One bit turned."""
    raw = bytearray(base.content)
    raw[draw.randrange(len(raw))] ^= 1 << draw.randrange(8)
    return bytes(raw), NOTHING


def cut(draw: Random, base: Base) -> Change:
    """The file ends early."""
    return base.content[: draw.randrange(len(base.content))], NOTHING


def piece_gone(draw: Random, base: Base) -> Change:
    """A stretch within the file is missing."""
    raw = base.content
    start = draw.randrange(len(raw))
    return raw[:start] + raw[start + draw.choice([1, 2, 10, 100, 500]) :], NOTHING


def piece_doubled(draw: Random, base: Base) -> Change:
    raw = base.content
    start = draw.randrange(len(raw))
    end = start + draw.choice([1, 2, 10, 100, 500])
    return raw[:end] + raw[start:end] + raw[end:], NOTHING


def lines_swapped(draw: Random, base: Base) -> Change:
    lines = base.content.split(b"\n")
    a, b = draw.randrange(len(lines)), draw.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return b"\n".join(lines), NOTHING


def line_gone(draw: Random, base: Base) -> Change:
    lines = base.content.split(b"\n")
    del lines[draw.randrange(len(lines))]
    return b"\n".join(lines), NOTHING


def line_doubled(draw: Random, base: Base) -> Change:
    lines = base.content.split(b"\n")
    place = draw.randrange(len(lines))
    lines.insert(draw.randrange(len(lines)), lines[place])
    return b"\n".join(lines), NOTHING


def odd_text_put_in(draw: Random, base: Base) -> Change:
    raw = base.content
    place = draw.randrange(len(raw))
    return raw[:place] + draw.choice(ODD_TEXTS).encode() + raw[place:], NOTHING


def wrong_encoding(draw: Random, base: Base) -> Change:
    text = base.content.decode()
    text = text.replace("e", draw.choice("eé€"), draw.choice([0, 1, 5]))
    code = draw.choice(["utf-16", "utf-16-le", "utf-32", "cp1252", "cp1250", "utf-7", "cp037", "mac_roman"])
    return text.encode(code, "replace"), NOTHING


def other_line_ends(draw: Random, base: Base) -> Change:
    """Line ends of other systems, which no reader may mind; lone carriage returns are none in TOML."""
    return base.content.replace(
        b"\n", draw.choice([b"\r\n", b"\r", b"\n\r", b"\x0b", b"\xe2\x80\xa8"])
    ), NOTHING


def empty(draw: Random, base: Base) -> Change:
    return draw.choice(
        [b"", b"\n", b" " * 100, b"\xef\xbb\xbf", b"\0" * 50, b"\xff\xfe", b"PK\x03\x04"]
    ), NOTHING


OPERATIONS: dict[str, tuple[float, Operation]] = {
    "bytes replaced": (3, noise),
    "one bit turned": (2, bits),
    "cut off": (2, cut),
    "a piece gone": (2, piece_gone),
    "a piece doubled": (2, piece_doubled),
    "lines swapped": (1, lines_swapped),
    "a line gone": (1, line_gone),
    "a line doubled": (1, line_doubled),
    "odd text put in": (2, odd_text_put_in),
    "wrong encoding": (1, wrong_encoding),
    "other line ends": (1, other_line_ends),
    "next to nothing": (1, empty),
}
