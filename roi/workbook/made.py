"""When something is made: now, or the moment that SOURCE_DATE_EPOCH states, so that the same input gives the same bytes."""

from __future__ import annotations

import os
from datetime import UTC, datetime


def now() -> datetime:
    """The time, in whole seconds and UTC; SOURCE_DATE_EPOCH, seconds since 1970, fixes it."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    return (
        datetime.fromtimestamp(int(epoch), UTC)
        if epoch.isdigit()
        else datetime.now(UTC).replace(microsecond=0)
    )
