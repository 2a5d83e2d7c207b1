"""Files put in place whole: whatever ends the program, each is the old one or the new one, never a part of either.

The content is in memory by then. It is written beside its target under a name of its own, then moved over the target, which
takes the system one step. Signals that end the program wait meanwhile, so that nothing is left lying about. Only what can't be
put off (a kill, a power cut) can leave such a file, if it comes in the moment it exists; the next writing of the same target
takes it away.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import signal
import stat
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType
from typing import Any

Handler = Callable[[int, FrameType | None], Any] | int
NAME_KEPT = 40  # letters of the target's name: with four bytes each still within what a file's name may have
TRIES = 1000  # another run may take a fresh file for a stale one, once each: more runs than ever write one file at a time
_HELD = [getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]


def put_in_place(results: Sequence[tuple[Path, bytes]], making: Path | None = None) -> None:
    """Write all contents beside their targets, then move each over its target. A link leads to the file that is replaced.

    results : (target, content);  making : a folder to make first where there is none, gone again when the writing fails

    Raises OSError when one can't be written, `filename` its target; `filename2` too where moving it failed. No target has changed
    then, unless an earlier one of the list was moved already.
    """
    parts: list[tuple[Path, Path, bytes]] = []
    made = False
    with _undisturbed():
        try:
            if making is not None and not making.is_dir():
                making.mkdir()
                made = True
            for given, content in results:
                target = Path(os.path.realpath(given))
                _refuse_read_only(target)
                _take_away_stale(target)
                parts.append((_beside(target), target, content))
                _write(*parts[-1])
            for part, target, content in parts:
                _move(part, target, content)
        except BaseException:
            for part, _, _ in parts:
                with suppress(OSError):
                    part.unlink()
            if made and making is not None:
                with suppress(OSError):
                    making.rmdir()
            raise


def _refuse_read_only(target: Path) -> None:
    # Moving a file into place asks nobody whether the old one may be written.
    if target.is_file() and not (os.access(target, os.W_OK) and target.stat().st_mode & stat.S_IWRITE):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(target))


def _beside(target: Path) -> Path:
    return target.with_name(f".{target.name[:NAME_KEPT]}.{secrets.token_hex(4)}.part")


def _take_away_stale(target: Path) -> None:
    """Remove what a killed run has left of this target. One that is still being written is written once more by its run."""
    mine = re.compile(rf"\.{re.escape(target.name[:NAME_KEPT])}\.[0-9a-f]{{8}}\.part")
    with suppress(OSError):  # a folder that can't be listed is no reason not to write into it
        for name in os.listdir(target.parent):
            if mine.fullmatch(name):
                (target.parent / name).unlink()


def _write(part: Path, target: Path, content: bytes) -> None:
    try:
        # Made by plain opening, so that it gets the permissions any new file of the user's has.
        with open(part, "xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())  # some disks say only now that they are full
    except OSError as wrong:
        wrong.filename = str(target)
        raise


def _move(part: Path, target: Path, content: bytes) -> None:
    for left in reversed(range(TRIES)):
        try:
            os.replace(part, target)
            return
        except FileNotFoundError:
            if not left:
                raise
            _write(part, target, content)
        except OSError as wrong:
            wrong.filename = str(target)
            raise


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Ctrl-C and what asks the program to end wait until this is over. Outside the main thread they don't come anyway."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    before: dict[int, Handler] = {}

    def wait(number: int, frame: FrameType | None) -> None:
        came.append(number)

    try:
        for number in _HELD:
            usual = signal.getsignal(number)
            if usual is not None and usual is not signal.SIG_IGN:
                before[number] = usual
                signal.signal(number, wait)
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if came:
            signal.raise_signal(came[0])


__all__ = ["put_in_place"]
