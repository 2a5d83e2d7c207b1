"""How the page speaks: its texts, numbers and dates in English, or in the language of its template.

A text is said whole, as `workbook.tongue` has words for it; sentences that hold figures are said piece by piece, so that the
same entries serve as for the workbook's.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import fields, is_dataclass, replace
from typing import Any

from roi.engine.evaluate import Values
from roi.engine.words import Sentence, fixed
from roi.workbook.read_language import SOURCE
from roi.workbook.tongue import Spoken, Tongue

PLACE = "page"  # what the language is asked for, beside sheets of workbooks
_UNKNOWN = "und"  # a language without a code, as in BCP 47
_AS_THEY_ARE = ("id", "currency")  # fields that no language says otherwise


class Voice:
    """Says English texts in a language, or as they are where it is None; `names` are never said otherwise."""

    def __init__(self, tongue: Tongue | None = None, names: Collection[str] = ()) -> None:
        self._tongue = tongue
        self.code = SOURCE if tongue is None else tongue.code or _UNKNOWN
        self.foreign = tongue is not None
        if tongue is not None:
            tongue.keep(names)

    def say(self, text: str) -> str:
        """A text in the language."""
        return text if self._tongue is None else self._tongue.say(text, PLACE)

    def piece(self, text: str) -> str:
        """A piece of a sentence in the language."""
        return text if self._tongue is None else self._tongue.say(text, PLACE, piece=True)

    def number(self, value: float, decimals: int = 0) -> str:
        """A number with its language's marks."""
        return self._write(fixed(value, decimals))

    def day(self, date: str) -> str:
        """A date, YYYY-MM-DD, as the language writes it."""
        return date if self._tongue is None else self._tongue.marks.day(date)

    def tell(self, sentence: Sentence, values: Values) -> str:
        """A sentence with values put in."""
        if self._tongue is None:
            return sentence.say(values)
        return Spoken(sentence.told_in(self.piece, self._write).say(values))

    def said(self, told: Any) -> Any:
        """The same texts, tuples of them or dataclasses that hold them, in the language; all else as it is."""
        if self._tongue is None:
            return told
        if isinstance(told, str):
            return self.say(told)
        if isinstance(told, tuple):
            return tuple(map(self.said, told))
        if is_dataclass(told) and not isinstance(told, type):
            names = [field.name for field in fields(told) if field.name not in _AS_THEY_ARE]
            return replace(told, **{name: self.said(getattr(told, name)) for name in names})
        return told

    def _write(self, number: str) -> str:
        return number if self._tongue is None else self._tongue.marks.write(number)


ENGLISH = Voice()

__all__ = ["ENGLISH", "Voice"]
