"""Files put in place while the program is killed, the disk is full, the folder closed, another run at work.

Outside reference: the operating system, which does the killing and refusing; POSIX rename() for what a reader sees meanwhile.
"""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import threading
from pathlib import Path

import pytest

from roi.cli.output import text_writer, write_all
from roi.scenario.problems import BadInput
from roi.workbook.in_place import put_in_place
from tests.faults.harm import ENDS, INT, KILL, STALE, TERM, carried_out, clear, files

OLD, NEW = {"a.html": "old a", "b.json": "old b"}, {"a.html": "new a " * 9000, "b.json": "new b " * 9000}
LINES = 100  # more than run


def put(folder: Path, **more: object) -> dict[str, object]:
    """An order to put the new files in place."""
    return {"put": [[str(folder / name), text] for name, text in NEW.items()], **more}


@pytest.mark.parametrize(("number", "first", "step"), [(KILL, 1, 1), (TERM, 1, 2), (INT, 2, 2)])
def test_every_line_may_be_the_last(tmp_path: Path, number: int, first: int, step: int) -> None:
    """A signal at each line that runs, the two that are met alike at every other one; both files are old beforehand.

    Each is whole afterwards. If the signal can wait, both are new or both old, and nothing else lies there. What a kill leaves is
    gone after the next run.
    """
    folders = [tmp_path / str(line) for line in range(first, LINES, step)]
    for folder in folders:
        folder.mkdir()
        for name, text in OLD.items():
            (folder / name).write_text(text)
    orders = [put(folder, signal=number, line=int(folder.name), making=str(folder)) for folder in folders]
    codes, left = [], 0
    for folder, found in zip(folders, carried_out(orders, tmp_path), strict=True):
        codes.append(found["code"])
        there = {name: text.decode() for name, text in files(folder).items()}
        stale = {name for name in there if STALE.fullmatch(name)}
        whole = {name: text for name, text in there.items() if name not in stale}
        assert whole.keys() == OLD.keys()
        assert all(whole[name] in (OLD[name], NEW[name]) for name in OLD), folder.name
        if number != KILL:
            assert whole in (OLD, NEW) and not stale
        left += len(stale)
        if stale:
            put_in_place([(folder / name, text.encode()) for name, text in NEW.items()])
            assert {name: text.decode() for name, text in files(folder).items()} == NEW
    ran = [code for code in codes if code != 0]
    assert set(ran) == {ENDS[number]} and 60 < len(ran) * step < LINES - 2 and codes[-1] == 0
    assert codes == [*ran, *[0] * (len(codes) - len(ran))]
    assert (left > 0) == (number == KILL)


def test_a_folder_made_for_files_is_gone_when_they_fail(tmp_path: Path) -> None:
    new = tmp_path / "new"
    orders = [
        put(new, making=str(new), limit=4096),
        put(new, making=str(new), signal=TERM, line=4),
    ]
    full, stopped = carried_out(orders, tmp_path)
    assert "can't be written: File too large mend: make room there" in clear(full)
    assert stopped["code"] == 128 + TERM and "Stopped." in stopped["err"]
    assert not new.exists()


def test_a_full_disk_leaves_old_files_whole(tmp_path: Path) -> None:
    for name, text in OLD.items():
        (tmp_path / name).write_text(text)
    (found,) = carried_out([put(tmp_path, limit=20_000)], tmp_path)
    assert "a.html: can't be written: File too large mend: make room there, or write elsewhere" in clear(
        found
    )
    assert {name: text.decode() for name, text in files(tmp_path).items()} == OLD


def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    """A disk of 64 KiB: the first file fits, the second doesn't."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    try:
        done = subprocess.run(mounted, capture_output=True, text=True)
    except FileNotFoundError as why:
        pytest.skip(f"no disk can be made here: {why}")
    if done.returncode:
        pytest.skip(f"no disk can be made here: {done.stderr.strip()}")
    try:
        for name, text in OLD.items():
            (disk / name).write_text(text)
        (found,) = carried_out([put(disk)], tmp_path)
        assert "b.json: can't be written: No space left on device mend: make room there" in clear(found)
        assert {name: text.decode() for name, text in files(disk).items()} == OLD
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_folder_that_takes_no_files(tmp_path: Path) -> None:
    """As an ordinary user, who may not write into another's folder; not even an administrator may into /sys."""
    closed = tmp_path / "closed"
    closed.mkdir()
    (closed / "a.html").write_text("old a")
    (closed / "a.html").chmod(0o666)
    closed.chmod(0o555)
    orders = [put(closed, **({"user": 65534} if os.getuid() == 0 else {}))]
    if os.path.isdir("/sys/kernel"):
        orders.append(put(Path("/sys/kernel")))
    for parent in (tmp_path, *tmp_path.parents):
        if parent.stat().st_uid == os.getuid() and "pytest" in str(parent):
            parent.chmod(0o755)
    try:
        for found in carried_out(orders, tmp_path):
            assert "can't be written: " in clear(found) and "no file can be made in the folder" in clear(
                found
            )
    finally:
        closed.chmod(0o755)
    assert files(closed) == {"a.html": b"old a"}


def test_a_file_that_another_program_holds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows refuses to move over a file that a spreadsheet program has open, with error 13; only the refusal is played here."""

    def held(part: Path, target: Path) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(part), None, str(target))

    (tmp_path / "a.xlsx").write_bytes(b"old")
    monkeypatch.setattr("os.replace", held)
    with pytest.raises(BadInput) as refused:
        write_all([(tmp_path / "a.xlsx", text_writer("new"))])
    (problem,) = refused.value.problems
    assert problem.where == str(tmp_path / "a.xlsx") and "close it in the spreadsheet program" in problem.mend
    assert files(tmp_path) == {"a.xlsx": b"old"}


def test_several_runs_on_one_output_leave_one_of_them_whole(tmp_path: Path) -> None:
    """Eight writers, fifty rounds each, every one taking the others' fresh files for stale; a reader never sees anything else."""
    target = tmp_path / "out.json"
    target.write_bytes(b"0" * 30_000)
    failed: list[BaseException] = []

    def write(letter: bytes) -> None:
        try:
            for _ in range(50):
                put_in_place([(target, letter * 30_000)])
        except OSError as wrong:
            failed.append(wrong)

    writers = [threading.Thread(target=write, args=(bytes([65 + n]),)) for n in range(8)]
    for writer in writers:
        writer.start()
    seen = set()
    while any(writer.is_alive() for writer in writers):
        seen.add(target.read_bytes())
    assert not failed
    seen.add(target.read_bytes())
    assert {len(text) for text in seen} == {30_000} and all(len(set(text)) == 1 for text in seen)
    assert [file.name for file in tmp_path.iterdir()] == ["out.json"]


def test_a_link_leads_to_the_file_that_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "real.json").write_bytes(b"old")
    (tmp_path / "link.json").symlink_to("far/real.json")
    put_in_place([(tmp_path / "link.json", b"new")])
    assert (tmp_path / "link.json").is_symlink() and (tmp_path / "far" / "real.json").read_bytes() == b"new"


def test_a_new_file_has_the_rights_of_any_new_file_and_a_name_may_be_long(tmp_path: Path) -> None:
    name = "é" * 120 + ".json"  # 245 bytes; 255 is what file systems take
    plain = tmp_path / "plain"
    plain.touch()
    put_in_place([(tmp_path / name, b"new")])
    assert stat.S_IMODE((tmp_path / name).stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)
    assert (tmp_path / name).read_bytes() == b"new"


def test_only_stale_files_of_its_own_target_are_taken_away(tmp_path: Path) -> None:
    kept = {".b.json.0123abcd.part", ".a.json.0123abcd.partly", "a.json.0123abcd.part", ".a.json.mine.part"}
    for name in (*kept, ".a.json.0123abcd.part"):
        (tmp_path / name).touch()
    put_in_place([(tmp_path / "a.json", b"new")])
    assert {file.name for file in tmp_path.iterdir()} == {*kept, "a.json"}
