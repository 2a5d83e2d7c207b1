"""When something is made: now, or the moment that SOURCE_DATE_EPOCH states, so that the same input gives the same bytes."""

from __future__ import annotations

import os
from datetime import UTC, datetime

from roi.scenario.problems import BadInput, Problem

VARIABLE = "SOURCE_DATE_EPOCH"


def now() -> datetime:
    """The time, in whole seconds and UTC; SOURCE_DATE_EPOCH, seconds since 1970, fixes it. Raises BadInput if that is none."""
    stated = os.environ.get(VARIABLE, "")
    if not stated:
        return datetime.now(UTC).replace(microsecond=0)
    try:
        if not (stated.isascii() and stated.isdigit()):
            raise ValueError(stated)
        return datetime.fromtimestamp(int(stated), UTC)
    except (ValueError, OverflowError, OSError):  # no whole number, or past the calendar's end
        what = f"{stated[:40]!r} is no moment: it wants whole seconds since the beginning of 1970 (UTC)"
        mend = "set it to such a number, as date +%s prints, or unset it"
        raise BadInput([Problem(f"the environment variable {VARIABLE}", what, mend)]) from None
