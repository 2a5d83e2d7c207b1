"""Keeps a benchmark to one processor core, so that its figures don't depend on how many the machine has."""

from __future__ import annotations

import os


def keep_to_one_core() -> None:
    """Keep this process and those it starts to one core, or say that the system can't."""
    if not hasattr(os, "sched_setaffinity"):
        print("This system can't keep a program to one core: figures are of all of them.")
        return
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


__all__ = ["keep_to_one_core"]
