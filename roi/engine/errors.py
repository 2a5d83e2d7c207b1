"""What can be wrong with a column while it is built. These speak to whoever writes lines, not to the shop."""

from __future__ import annotations


class EngineError(Exception):
    """Any mistake in the making of a column."""


class UnitMismatch(EngineError):
    """A line's arithmetic gives another unit than the one declared, or adds unlike things."""


class AxisMismatch(EngineError):
    """Blocks over different axes were combined, or a range was wanted where a sum of things stands."""


class UnguardedStep(EngineError):
    """A bare comparison, truth test, floor or modulo on a computed number: use the guarded functions."""


class TypedNumber(EngineError):
    """A changeable number stands in a formula: make it an input."""


class FormulaTooLong(EngineError):
    """A line's spreadsheet formula passes 150 characters or nests IF more than twice: split the line."""
