"""Runs commands in processes of their own and does harm to them: python driver.py < orders.json > results.json.

Everything is loaded once, then every order is a fork of that, so that an order costs only what the command itself does. An order
holds `words` (the command line) or `put` ([[file, text], ...], put in place directly, with `making` as the folder to make), and
may hold `signal` with `after` (seconds of processor), `part` (of those that the first order took) or `line` (sent at the nth line
that runs of roi/workbook/in_place.py), `limit`
(bytes that a file may have, as on a full disk), `user` (number of the user it runs as), `stdout` (a file for it), `terminal`
(it gets one, and the signal once it has printed something), `beside` (the next order runs at the same time), `cwd` (where it
runs, with temporary files in its `tmp`).
A result is {code, out, err, seconds}; a code below nought is the signal that killed it.
"""

from __future__ import annotations

import importlib
import json
import os
import pty
import resource
import select
import signal
import sys
import tempfile
import time
import warnings
from pathlib import Path
from types import FrameType
from typing import Any

LOADED = ("compare", "side_by_side", "budget", "brief", "new", "reconcile", "confirm", "explain")


def main() -> None:
    """Carry out the orders on stdin, one after another."""
    orders: list[dict[str, Any]] = json.load(sys.stdin)
    warnings.simplefilter("error")
    # A signal may meet Python's own import with a file open, which is closed when it is taken away.
    warnings.simplefilter("ignore", ResourceWarning)
    from roi.__main__ import run as command

    used = {order["words"][0] for order in orders if "words" in order}
    for name in LOADED:
        if name in used:
            importlib.import_module(f"roi.cli.{name}")
    if used & {"compare", "budget", "new"}:
        importlib.import_module("roi.workbook.write")
    if "brief" in used:
        importlib.import_module("matplotlib.pyplot")
    for name in ("output", "reading", "stopping"):
        importlib.import_module(f"roi.cli.{name}")
    results, running = [], []
    for order in orders:
        if "part" in order:
            order["after"] = order["part"] * results[0]["seconds"]
        running.append(begin(order, command))
        if not order.get("beside"):
            results += [end(*one) for one in running]
            running = []
    json.dump(results, sys.stdout)


def begin(order: dict[str, Any], command: Any) -> tuple[int, dict[str, Any], tuple[int, int], int]:
    """Fork; the child carries out the order and never returns."""
    out, err = unnamed(), unnamed()
    screen = -1
    if order.get("terminal"):
        pid, screen = pty.fork()
    else:
        pid = os.fork()
    if pid:
        return pid, order, (out, err), screen
    if "words" in order:
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # as it is before Python is there
    if "cwd" in order:
        os.chdir(order["cwd"])
        tempfile.tempdir = str(Path(order["cwd"]) / "tmp")
    if not order.get("terminal"):
        target = os.open(order["stdout"], os.O_WRONLY) if "stdout" in order else out
        os.dup2(target, 1)
        os.dup2(err, 2)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    for name, number, mode in (("stdin", 0, "r"), ("stdout", 1, "w"), ("stderr", 2, "w")):
        setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115
    if "limit" in order:
        resource.setrlimit(resource.RLIMIT_FSIZE, (order["limit"], order["limit"]))
    if "user" in order:
        os.setgroups([])
        os.setgid(order["user"])
        os.setuid(order["user"])
    if "line" in order:
        signal_at_line(order["line"], order["signal"])
    if "words" in order:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        sys.argv = ["roi", *order["words"]]
        command()
    else:
        put(order)
    sys.exit(0)


def unnamed() -> int:
    """A file without a name, open to write and read."""
    with tempfile.TemporaryFile() as file:
        return os.dup(file.fileno())


def put(order: dict[str, Any]) -> None:
    """Put files in place, as a command does."""
    from click.exceptions import Exit

    from roi.cli.output import text_writer, write_all
    from roi.cli.reading import refuse
    from roi.cli.stopping import ended_when_asked, told_when_stopped
    from roi.scenario.problems import BadInput

    results = [(Path(file), text_writer(text)) for file, text in order["put"]]
    with ended_when_asked():
        try:
            with told_when_stopped():
                write_all(results, Path(order["making"]) if "making" in order else None)
        except Exit as exit:
            sys.exit(exit.exit_code)
        except BadInput as bad:
            sys.exit(refuse(bad.problems))


def signal_at_line(wanted: int, number: int) -> None:
    """Send this process a signal at the nth line that runs of the module that puts files in place."""
    from roi.workbook import in_place

    seen = 0

    def at_line(frame: FrameType, event: str, what: Any) -> Any:
        nonlocal seen
        if event == "line":
            seen += 1
            if seen == wanted:
                os.kill(os.getpid(), number)
        return at_line

    def at_call(frame: FrameType, event: str, what: Any) -> Any:
        return at_line if frame.f_code.co_filename == in_place.__file__ else None

    sys.settrace(at_call)


def end(pid: int, order: dict[str, Any], files: tuple[int, int], screen: int) -> dict[str, Any]:
    """Wait for a child, harming it when its time has come."""
    shown = b""
    if screen >= 0:
        while b"> " not in shown and select.select([screen], [], [], 20)[0]:  # the prompt
            shown += os.read(screen, 4096)
        # Python meets a signal that comes between the prompt and the waiting only once an answer comes: nobody is that quick.
        time.sleep(0.2)
        os.kill(pid, order["signal"])
    elif "after" in order:
        while worked(pid) < order["after"] and not ended(pid):
            time.sleep(0.002)
        os.kill(pid, order["signal"])  # a child that has ended can still be signalled until it is waited for
    if screen >= 0:
        try:
            while more := os.read(screen, 4096):
                shown += more
        except OSError:  # how a terminal tells that its program has ended
            pass
    _, status, used = os.wait4(pid, 0)
    code = os.waitstatus_to_exitcode(status)
    said = []
    for file in files:
        os.lseek(file, 0, os.SEEK_SET)
        with open(file, encoding="utf-8") as text:
            said.append(text.read())
    seconds = used.ru_utime + used.ru_stime
    return {"code": code, "out": said[0] + shown.decode(errors="replace"), "err": said[1], "seconds": seconds}


def worked(pid: int) -> float:
    """Seconds of processor that a child has used: what else this machine does is no matter. Linux numbers such clocks so."""
    return time.clock_gettime(~pid << 3 | 2)


def ended(pid: int) -> bool:
    """Whether a child that nobody has waited for yet has ended."""
    return os.waitid(os.P_PID, pid, os.WEXITED | os.WNOHANG | os.WNOWAIT) is not None


if __name__ == "__main__":
    main()
