"""Sentences made of pieces, each written once: said with computed values, and as spreadsheet text formulas.

A piece stands in a cell of its own, so that no formula grows long; a sentence joins its pieces. Numbers go through FIXED,
whose decimal mark follows the reader's program; here it is a point, with commas between thousands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Context, Decimal

from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.formula import Where, formula

Say = Callable[[str], str]
_LARGE = Context(prec=400)  # digits: more than any number of the engine has before its point


@dataclass(frozen=True)
class Words:
    """Fixed words."""

    text: str

    def told(self, say: Say, write: Say = str) -> Words:
        return Words(say(self.text))

    def say(self, values: Values) -> str:
        return self.text

    def formula(self, where: Where) -> str | None:
        """None: the words stand in the cell as they are."""
        return None


@dataclass(frozen=True)
class Number:
    """A line's value with a fixed number of decimals, between words before and after; only where a flag is 1, if given."""

    line: Line
    decimals: int = 0
    before: str = ""
    after: str = ""
    only: Line | None = None
    write: Say = str  # what the number as FIXED writes it is said as; formulas leave that to the reader

    def told(self, say: Say, write: Say = str) -> Number:
        return replace(self, before=say(self.before), after=say(self.after), write=write)

    def say(self, values: Values) -> str:
        if self.only is not None and values[self.only].flat[0] != 1:
            return " "
        return self.before + self.write(fixed(float(values[self.line].flat[0]), self.decimals)) + self.after

    def formula(self, where: Where) -> str | None:
        text = f"FIXED({formula(self.line, where)[1:]},{self.decimals})"
        before = f"{_quoted(self.before)}&" if self.before else ""
        after = f"&{_quoted(self.after)}" if self.after else ""
        if self.only is not None:
            # An absent piece is a single space: an empty text is no text to some programs.
            return f"=IF({formula(self.only, where)[1:]}=1,{before}{text}{after},{_quoted(' ')})"
        return f"={before}{text}{after}"


@dataclass(frozen=True)
class Choice:
    """One text where a flag is 1, another (or a further choice) where it is 0."""

    flag: Line
    yes: str
    no: str | Choice = " "

    def told(self, say: Say, write: Say = str) -> Choice:
        return Choice(
            self.flag, say(self.yes), say(self.no) if isinstance(self.no, str) else self.no.told(say, write)
        )

    def say(self, values: Values) -> str:
        if values[self.flag].flat[0] == 1:
            return self.yes
        return self.no if isinstance(self.no, str) else self.no.say(values)

    def formula(self, where: Where) -> str | None:
        otherwise = _quoted(self.no) if isinstance(self.no, str) else (self.no.formula(where) or "")[1:]
        return f"=IF({formula(self.flag, where)[1:]}=1,{_quoted(self.yes)},{otherwise})"


@dataclass(frozen=True)
class Name:
    """The name at a position; the names stand in the heading over a block. Only where a flag is 1, if given."""

    block: Line
    position: Line
    only: Line | None = None
    labels: tuple[str, ...] = ()  # what stands in the heading, where that isn't the block's own labels

    def told(self, say: Say, write: Say = str) -> Name:
        assert self.block.axis is not None
        return replace(self, labels=tuple(map(say, self.block.axis.labels)))

    def say(self, values: Values) -> str:
        assert self.block.axis is not None
        if self.only is not None and values[self.only].flat[0] != 1:
            return " "
        labels = self.labels or self.block.axis.labels
        return labels[round(float(values[self.position].flat[0])) - 1]

    def formula(self, where: Where) -> str | None:
        assert self.block.axis is not None
        names = where.span(self.block, 0, len(self.block.axis) - 1, "names")
        named = f"INDEX({names},{formula(self.position, where)[1:]})"
        return f'=IF({formula(self.only, where)[1:]}=1,{named}," ")' if self.only is not None else f"={named}"


@dataclass(frozen=True)
class Phrase:
    """Pieces that are said together where a flag is 1, in one formula: they must be few and short."""

    only: Line
    pieces: Sequence[Words | Number | Name]

    def told(self, say: Say, write: Say = str) -> Phrase:
        return Phrase(self.only, [piece.told(say, write) for piece in self.pieces])

    def say(self, values: Values) -> str:
        if values[self.only].flat[0] != 1:
            return " "
        return "".join(piece.say(values) for piece in self.pieces)

    def formula(self, where: Where) -> str | None:
        parts = [(p.formula(where) or "=" + _quoted(p.say({})))[1:] for p in self.pieces]
        return f'=IF({formula(self.only, where)[1:]}=1,{"&".join(parts)}," ")'


Piece = Words | Number | Choice | Name | Phrase


@dataclass(frozen=True)
class Sentence:
    """A sentence of pieces, called by a label; other pieces are said where `told`, if given, is 0."""

    label: str
    pieces: Sequence[Piece]
    told: Line | None = None
    otherwise: Sequence[Piece] = ()

    def told_in(self, say: Say, write: Say = str) -> Sentence:
        """The same sentence with every text in it put through a function, such as into another language.

        write : what numbers are put through when the sentence is said with values
        """
        pieces, otherwise = ([p.told(say, write) for p in each] for each in (self.pieces, self.otherwise))
        return replace(self, pieces=pieces, otherwise=otherwise)

    def say(self, values: Values) -> str:
        """The sentence with values put in, single spaces between words."""
        return " ".join(self.text(values).split())

    def text(self, values: Values) -> str:
        """The sentence as its pieces are joined in a workbook, with a space for each that is absent."""
        said = self.told is None or values[self.told].flat[0] == 1
        return "".join(piece.say(values) for piece in (self.pieces if said else self.otherwise))

    def joined(self, cells: Sequence[str], where: Where) -> str:
        """The formula that joins the cells of all pieces, those of `pieces` first."""
        first, second = cells[: len(self.pieces)], cells[len(self.pieces) :]
        if self.told is None:
            return "=" + "&".join(first)
        return f"=IF({formula(self.told, where)[1:]}=1,{'&'.join(first)},{'&'.join(second)})"


def fixed(number: float, decimals: int) -> str:
    """A number, not infinite, as FIXED writes it: halves away from zero, commas between thousands."""
    # Fifteen digits are all a spreadsheet rounds by.
    exact = Decimal(format(number, ".15g")).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP, _LARGE)
    return f"{exact if exact else abs(exact):,.{decimals}f}"


def _quoted(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'
