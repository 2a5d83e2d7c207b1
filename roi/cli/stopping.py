"""How a command ends when it is stopped: by Ctrl-C, by what asks it to end, by a reader that wants no more.

Exit codes are those a shell gives: 128 and the signal's number, so 130 for Ctrl-C, 143 for a request to end, 141 for a pipe that
nobody reads from any more.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

import click
from click.exceptions import Exit

SIGNALLED = 128
NOBODY_READS = SIGNALLED + 13
A_MOMENT = 0.02  # seconds
TOLD = "Stopped. No file is half written: each is the old one or the new one, whole."
_ASKED_TO_END = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]


class Ended(KeyboardInterrupt):
    """A request to end, met as Ctrl-C is: what is open is closed and tidied on the way."""

    number = int(signal.SIGTERM)


def stopped(number: int) -> Exit:
    """Say so on stderr, below the ^C that a terminal shows. Returns what ends the command, with 128 and the signal's number."""
    click.echo(f"\n{TOLD}", err=True)
    return Exit(SIGNALLED + number)


@contextmanager
def told_when_stopped() -> Iterator[None]:
    """Say that a command was stopped, or that its input ended where an answer was awaited, and end it with its exit code."""
    usual = sys.unraisablehook

    def again(met: sys.UnraisableHookArgs) -> None:
        # Met while an object was being taken away, where nothing can be raised: it comes again a moment later.
        if issubclass(met.exc_type, KeyboardInterrupt):
            number = getattr(met.exc_value, "number", int(signal.SIGINT))
            threading.Timer(A_MOMENT, _signal_main_thread, [number]).start()
        else:
            usual(met)

    sys.unraisablehook = again
    try:
        yield
    except Ended as ended:
        raise stopped(ended.number) from None
    except (KeyboardInterrupt, EOFError, click.Abort):
        raise stopped(int(signal.SIGINT)) from None
    finally:
        sys.unraisablehook = usual


def _signal_main_thread(number: int) -> None:
    """To that thread itself, so that it doesn't go on waiting for an answer; where the system can't, to the process."""
    main = threading.main_thread().ident
    if hasattr(signal, "pthread_kill") and main is not None:
        signal.pthread_kill(main, number)
    else:
        signal.raise_signal(number)


@contextmanager
def ended_when_asked() -> Iterator[None]:
    """While this lasts, a request to end, or a terminal that is closed, raises Ended; one that is ignored stays so."""
    before: dict[int, Any] = {}

    def end(number: int, frame: FrameType | None) -> None:
        ended = Ended()
        ended.number = number
        raise ended

    if threading.current_thread() is threading.main_thread():
        before = {n: signal.getsignal(n) for n in _ASKED_TO_END if signal.getsignal(n) == signal.SIG_DFL}
    try:
        for number in before:
            signal.signal(number, end)
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


__all__ = ["NOBODY_READS", "Ended", "ended_when_asked", "stopped", "told_when_stopped"]
