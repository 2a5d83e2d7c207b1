"""Who hears how far a long reading has come: nobody, unless the caller listens.

What is told is a text such as "Reading jobs.xlsx, row 40,000". Where it is shown is left to the command line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_LISTENER: ContextVar[Callable[[str], None] | None] = ContextVar("listener", default=None)


@contextmanager
def listening(listener: Callable[[str], None]) -> Iterator[None]:
    """Within this, `listener` hears what is told in the same thread."""
    before = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(before)


def tell(doing: str) -> None:
    """Say what is being done, to whoever listens."""
    if (listener := _LISTENER.get()) is not None:
        listener(doing)
