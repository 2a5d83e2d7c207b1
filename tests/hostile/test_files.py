"""Text files, names of files, pictures and quantities made to do harm: each is refused in words, in good time, or does none.

Limits are those of `roi.scenario.limits`; what honest files may hold is tried beside what is refused.
"""

from __future__ import annotations

import os
import struct
import threading
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from roi.scenario.files import load_toml
from roi.scenario.limits import LONGEST_LINE, MOST_LINES_A_ROW, leaves, parsed, read_whole
from roi.scenario.logspec import file_beside
from roi.scenario.problems import BadInput, Problem
from roi.scenario.scenario import read
from roi.scenario.tables import read_table
from roi.units.quantity import UnreadableQuantity, factor, read_size, read_unit, split_number
from roi.units.unit import Unit
from roi.workbook.logo import LARGEST, MOST_PIXELS, read_logo
from roi.workbook.read_language import load_language
from roi.workbook.read_template import load_template
from tests.small_shop import SHOP

SECONDS = 5.0  # of the processor: none of these may take longer, and each takes a fraction
READERS: tuple[Callable[[Path], object], ...] = (
    read,
    lambda path: load_template(str(path)),
    lambda path: load_language(str(path)),
)


def refusal(reader: Callable[[Path], object], path: Path) -> str:
    began = time.process_time()
    with pytest.raises(BadInput) as bad:
        reader(path)
    assert time.process_time() - began < SECONDS
    assert all(problem.mend for problem in bad.value.problems)
    return str(bad.value)


# TOML

TOO_MUCH = {
    "a key of very many parts": (
        "x" + ".a" * 30_000 + " = 1",
        "a key has more than 40 parts|nested too deeply",
    ),
    "a heading of very many parts": (
        "[x" + " . 'a'" * 10_000 + "]",
        "a key has more than 40 parts|nested too deeply",
    ),
    "brackets in brackets": ("x = " + "[" * 30_000, "is not TOML|nested too deeply"),
    "an endless whole number": ("x = " + "9" * 50_000, "a whole number has thousands of digits"),
    "a whole number by sixteens": ("x = 0x" + "f" * 50_000, "x is a whole number beyond 64 bits"),
    "infinity": ("x = [1, inf]", "x.2 is a number without end"),
    "a number that is none": ("[x]\ny = nan", "x.y is a number without end, or none"),
    "a number above all numbers": ("x = 1e999999999", "x is a number without end"),
    "a very long text": ("x = '" + "a " * 4_000 + "'", "x is a text of more than 5,000 characters"),
    "a very long name": ("a" * 6_000 + " = 1", "is a name of more than 5,000 characters"),
    "very many things": ("x = [" + "1," * 30_000 + "]", "more than 20,000 things are stated"),
}


@pytest.mark.parametrize("name", TOO_MUCH)
def test_toml_beyond_measure_is_refused_by_every_reader(tmp_path: Path, name: str) -> None:
    text, said = TOO_MUCH[name]
    path = tmp_path / "file.toml"
    path.write_text(f"schema = 1\n{text}\n", "utf-8")
    for reader in READERS:
        told = refusal(reader, path)
        assert any(part in told for part in said.split("|")), told


def test_toml_larger_than_any_scenario_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "file.toml"
    path.touch()
    os.truncate(path, 10_000_000_000)  # a hole: nothing is stored
    for reader in READERS:
        assert "is larger than" in refusal(reader, path)


def test_honest_toml_is_far_from_the_limits() -> None:
    tree = parsed('a.b.c.d.e.f = 1\n"a.a.a.a" = "' + "www.x.y " * 500 + '"\nn = 9223372036854775807\n')
    assert tree["n"] == 2**63 - 1 and tree["a"]["b"]["c"]["d"]["e"]["f"] == 1
    rows = "\n".join(f"k{n} = [{n}.5, {n}.25]" for n in range(5_000))
    assert len(parsed(rows)) == 5_000


# Logs and ledgers as text


def log_of(path: Path) -> object:
    return read_table(path, {"job": "Job"}, sheet=None, where="[log]").columns["job"].cells


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (b"a," + b"x" * (2 * LONGEST_LINE), "line 2: is longer than 1,000,000 bytes"),
        (b",".join([b"a"] * 2 * LONGEST_LINE), "line 2: is longer than 1,000,000 bytes"),
        (b'"\n",' * 5_000, "a row runs over more than 1,000 lines"),
        (b'"' + b"x\n" * 100_000, "line "),
        (b"a\0b\n", "is not a plain text file"),
    ],
)
def test_a_row_without_end_is_refused(tmp_path: Path, rows: bytes, said: str) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(b"Job,Plates\n" + rows)
    assert said in refusal(log_of, path)


def test_a_cell_may_run_over_lines(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    note = "line\n" * (MOST_LINES_A_ROW - 10)
    path.write_text(f'Job,Note\na,"{note}"\nb,\n' * 3, "utf-8")
    assert log_of(path) == ("a", "b", "Job")


# Where files lie

OUTSIDE = [
    "../other.csv", "sub/../../other.csv", "/etc/passwd.csv", "C:\\other.csv", "c:other.csv", "..\\other.csv",
    "\\\\server\\share\\log.csv", "//server/share/log.csv", "\\\\?\\C:\\log.csv", "CON.csv", "sub/nul", "com1.csv", "lpt9",
]  # fmt: skip


@pytest.mark.parametrize("name", OUTSIDE)
def test_a_name_that_leads_out_of_the_folder_is_refused_wherever_a_file_names_one(
    tmp_path: Path, name: str
) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    assert leaves(inner, name)
    problems: list[Problem] = []
    file_beside(inner, name, "[log]", problems)
    assert problems
    quoted = name.replace("\\", "\\\\")
    for line in (
        f'based_on = "{quoted}"',
        f'[methods.x]\nuse = "{quoted}.toml"',
        f'[log]\nfile = "{quoted}"',
    ):
        path = inner / "shop.toml"
        path.write_text(f"schema = 1\n{line}\n", "utf-8")
        assert "leaves the" in refusal(read, path)
    for line in (f'[style]\nlogo = "{quoted}"', f'[workbook]\nlanguage = "{quoted}.toml"'):
        path = inner / "template.toml"
        path.write_text(f"schema = 1\n{line}\n", "utf-8")
        assert "leaves the folder of the template" in refusal(lambda p: load_template(str(p)), path)


@pytest.mark.parametrize(
    "name", ["log.csv", "sub/log.csv", "./log.csv", "a..b.csv", "console.csv", "ä ö.csv"]
)
def test_a_name_within_the_folder_is_taken(tmp_path: Path, name: str) -> None:
    assert not leaves(tmp_path, name)


def test_a_link_counts_where_it_leads(tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    (tmp_path / "secret.csv").write_text("Job\na\n", "utf-8")
    (inner / "own.csv").write_text("Job\na\n", "utf-8")
    (inner / "out.csv").symlink_to(tmp_path / "secret.csv")
    (inner / "folder").symlink_to(tmp_path)
    (inner / "within.csv").symlink_to(inner / "own.csv")
    assert [leaves(inner, n) for n in ("out.csv", "folder/secret.csv", "within.csv")] == [True, True, False]
    problems: list[Problem] = []
    file_beside(inner, "out.csv", "[log]", problems)
    assert "links to a file outside" in str(problems[0])


def test_a_link_that_leads_round_in_a_ring_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.toml").symlink_to(tmp_path / "b.toml")
    (tmp_path / "b.toml").symlink_to(tmp_path / "a.toml")
    with pytest.raises(BadInput):
        load_toml(tmp_path / "a.toml")


# Devices and pipes


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    os.mkfifo(tmp_path / "pipe.toml")
    return tmp_path / "pipe.toml"


def in_good_time(what: Callable[[], object]) -> None:
    """Fails rather than waits where a read would never end."""
    worker = threading.Thread(target=what, daemon=True)
    worker.start()
    worker.join(SECONDS)
    assert not worker.is_alive()


def test_a_pipe_is_refused_without_waiting(pipe: Path) -> None:
    told: list[str] = []
    for reader in READERS:
        in_good_time(lambda reader=reader: told.append(refusal(reader, pipe)))
    assert len(told) == 3 and all("it is a device or a pipe, not a file" in text for text in told)


def test_a_device_that_never_ends_is_refused(tmp_path: Path) -> None:
    zero = Path("/dev/zero")
    if not zero.exists():
        pytest.skip("this system has no /dev/zero")
    with pytest.raises(OSError, match="device"):
        read_whole(zero, 1_000)
    (tmp_path / "log.csv").symlink_to(zero)
    assert "there is no file log.csv" in refusal(log_of, tmp_path / "log.csv")


def test_a_file_that_grows_is_read_up_to_the_limit(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"x" * 11)
    with pytest.raises(OSError, match="larger than 10 bytes"):
        read_whole(tmp_path / "a", 10)
    assert read_whole(tmp_path / "a", 11) == b"x" * 11


# Pictures


def png(width: int, height: int, more: bytes = b"") -> bytes:
    """ISO/IEC 15948: signature, IHDR, one IDAT, IEND."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", more) + chunk(b"IEND", b"")


PICTURES = {
    "drawing": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "drawing with entities": b'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "b">]><svg>&a;</svg>',
    "page": b"<html><script>alert(1)</script></html>",
    "GIF": b"GIF89a" + b"\0" * 50,
    "bomb": png(60_000, 60_000, zlib.compress(b"\0" * 1_000_000)),
    "largest number": png(2**32 - 1, 1),
    "nothing across": png(0, 10),
    "broken off": png(10, 10)[:30],
    "JPEG without a size": b"\xff\xd8\xff" + b"\xff\xe0\0\2" * 1_000,
    "JPEG of lengths of nought": b"\xff\xd8\xff\xe0\0\0" + b"\0" * 1_000,
    "JPEG bomb": b"\xff\xd8\xff\xc0\0\x11\x08\xff\xff\xff\xff\3" + b"\0" * 20,
}


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_that_is_none_or_too_large_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "logo.png").write_bytes(PICTURES[name])
    (tmp_path / "template.toml").write_text('schema = 1\n[style]\nlogo = "logo.png"\n', "utf-8")
    assert '"logo.png" is' in refusal(lambda path: load_template(str(path)), tmp_path / "template.toml")


def test_a_large_file_is_refused_as_a_picture_unread(tmp_path: Path) -> None:
    (tmp_path / "logo.png").write_bytes(png(10, 10, b"\0" * LARGEST))
    (tmp_path / "template.toml").write_text('schema = 1\n[style]\nlogo = "logo.png"\n', "utf-8")
    assert "too large" in refusal(lambda path: load_template(str(path)), tmp_path / "template.toml")


def test_the_largest_picture_is_taken() -> None:
    logo = read_logo(png(MOST_PIXELS, MOST_PIXELS))
    assert (logo.kind, logo.width, logo.height) == ("png", MOST_PIXELS, MOST_PIXELS)


# Numbers and units

UNITS = [
    "9**9**9**9 m", "m**9**9**9", "m^9^9^9", "10^(10^10)", "m" * 100_000, "m*" * 100_000 + "m", "m" + "/m" * 29,
    "__import__('os').system('x')", "(" * 1_000 + "m", "m\0", "1/1/1/1/1/1", "m" + " " * 100_000 + "x",
    "\N{SUPERSCRIPT NINE}" * 50,
]  # fmt: skip


@pytest.mark.parametrize("text", UNITS)
def test_a_unit_is_never_reckoned(text: str) -> None:
    began = time.process_time()
    with pytest.raises(UnreadableQuantity):
        factor(read_unit(text, "USD"), Unit.read("m"))
    assert time.process_time() - began < SECONDS


@pytest.mark.parametrize(
    "text",
    [
        "1e999 m", "1e999999999 m", "9" * 150 + "e300 m", "9" * 1_000_000 + " m", "1 1/" + "9" * 100_000 + " m", "1 1/0 m",
        "nan m", "inf m", "1" + " " * 1_000_000 + "m", "0x10 m", "1,0,0 m",
    ],
)  # fmt: skip
def test_a_number_is_finite_and_short_or_refused(text: str) -> None:
    began = time.process_time()
    with pytest.raises(UnreadableQuantity):
        _, rest = split_number(text)
        factor(read_unit(rest, "USD"), Unit.read("m"))
    assert time.process_time() - began < SECONDS


@pytest.mark.parametrize("text", ["1 m" + " " * 1_000_000 + "x 1 m", "1x" * 100_000, "1 m x 1e999 m"])
def test_a_size_is_short_or_refused(text: str) -> None:
    began = time.process_time()
    with pytest.raises(UnreadableQuantity):
        read_size(text)
    assert time.process_time() - began < SECONDS


def test_hostile_quantities_in_a_scenario_are_all_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(
        SHOP.replace('"4 year"', '"9**9**9**9 year"').replace('"330 mm x 492 mm"', '"1e999 mm x 492 mm"'),
        "utf-8",
    )
    told = refusal(read, path)
    assert "years_left" in told and "sizes" in told
