"""What is wrong with what the user stated, said so that the user can mend it.

Every reader collects all its problems before it raises, so that one run names them all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing to mend: `where` (file, key or row), `what` is wrong, `mend` (what to write instead)."""

    where: str
    what: str
    mend: str = ""

    def __str__(self) -> str:
        return f"{self.where}: {self.what}" + (f"\n  mend: {self.mend}" if self.mend else "")


class BadInput(Exception):
    """The input can't be used; `problems` holds every reason, in reading order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(str(p) for p in self.problems))
