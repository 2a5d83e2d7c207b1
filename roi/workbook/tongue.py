"""Another language for what a workbook says: English texts and what each is called in that language.

English is what the code writes. An entry is a whole text, or a pattern with holes in braces: "{a}, present worth" also says
"Water, present worth"; what fills a hole is said in turn. A hole whose name begins with n takes a number, with c a currency's
code; one with k stays as it is. A text without an
entry is tried in parts (its sentences, what semicolons, colons and commas part, units); what then has no words stays English.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

HOLE = re.compile(r"\{([^{}]*)\}")
HOLE_NAME = re.compile(r"[a-z][a-z0-9_]*")
_NUMBER = r"[-+–]?(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?:\.[0-9]+)?"
_ONE_NUMBER = re.compile(_NUMBER)
_TAKES = {"n": _NUMBER, "c": "[A-Z]{3}"}  # by the first letter of a hole's name
_AS_IT_IS = "k"
_LETTERS = re.compile(r"[^\W\d_]{2}")
_DOTTED = re.compile(r"[\w*-]+(?:\.[\w*-]+)+|[a-z0-9]+(?:_[a-z0-9]+)+")  # names of files and keys
_PARTS = (
    re.compile(r"(?<=[\w)%'][.?!]) (?=\S)"),
    re.compile(r"; "),
)
_PAIRS = (": ", ", ")  # what may part a text in two
_UNIT = re.compile(r"[^\s/,:]+(?: [^\s/,:]+)?(?:/[^\s/,:]+(?: [^\s/,:]+)?)+")
_EDGE = 3  # letters at either end by which patterns are found
_DEEPEST = 12  # holes within holes


class Spoken(str):
    """A text in the language already."""

    __slots__ = ()


@dataclass(frozen=True)
class Marks:
    """How numbers in delivered texts are written: what parts thousands, the decimal mark; and dates on pages, as {y} {m} {d}."""

    thousands: str = ","
    decimal: str = "."
    date: str = "{y}-{m}-{d}"

    def day(self, date: str) -> str:
        """A date written YYYY-MM-DD, in this way."""
        year, month, day = date.split("-")
        return self.date.format(y=year, m=month, d=day)

    def write(self, number: str) -> str:
        """A number written the English way, in this one."""
        return number.translate({ord(","): self.thousands, ord("."): self.decimal})


class Tongue:
    """A language: says English texts in it, and keeps what it was asked by sheet and whether it had words for all of it.

    entries : English texts and what each is called;  pieces : the same for pieces of sentences, which are looked up first there
    code : the language's code for programs that read pages out, such as "de"
    """

    def __init__(
        self,
        name: str,
        entries: Mapping[str, str],
        pieces: Mapping[str, str] | None = None,
        marks: Marks | None = None,
        code: str = "",
    ) -> None:
        self.name, self.marks, self.code = name, marks or Marks(), code
        self.heard: dict[str, dict[str, bool]] = {}
        self._kept: dict[str, str] = {}
        self._known: dict[tuple[str, bool], tuple[Spoken, int]] = {}
        self._inner: dict[str, tuple[str, int]] = {}
        self._here: tuple[dict[str, dict[str, Spoken]], ...] = ({}, {})  # texts by sheet, and pieces
        self._entries, self._pieces = _Entries(entries), _Entries(pieces or {})

    def keep(self, names: Collection[str]) -> None:
        """Names that are never said otherwise: those the shop chose, and words that are read back.

        names : may be a mapping, from how a name stands in English texts to the name
        """
        pairs = names if isinstance(names, Mapping) else {name: name for name in names}
        new = {text: name for text, name in pairs.items() if text and text not in self._kept}
        if new:
            self._kept |= new
            self._known.clear()
            self._inner.clear()
            self._here = ({}, {})

    def missing(self) -> list[str]:
        """The texts asked for on any sheet that it had no words for, or not for all of it, each once, as they came."""
        every = (text for heard in self.heard.values() for text, known in heard.items() if not known)
        return list(dict.fromkeys(every))

    def asked(self) -> int:
        """How many different texts were asked for."""
        return len({text for heard in self.heard.values() for text in heard})

    def say(self, text: str, place: str = "", *, piece: bool = False) -> Spoken:
        """A text in this language, as far as there are words for it; spaces around it stay.

        place : the sheet it stands on;  piece : whether it is a piece of a sentence
        """
        if type(text) is Spoken:
            return text
        try:
            return self._here[piece][place][text]  # nearly always
        except KeyError:
            return self._said_first(text, place, piece)

    def _said_first(self, text: str, place: str, piece: bool) -> Spoken:
        """A text said on a sheet for the first time."""
        if (text, piece) not in self._known:
            core = text.strip()
            said, missing = self._said(core, 0, piece) if core else ("", 0)
            at = text.index(core)
            self._known[text, piece] = Spoken(text[:at] + said + text[at + len(core) :]), missing
        spoken, missing = self._known[text, piece]
        self._here[piece].setdefault(place, {})[text] = spoken
        if place and _LETTERS.search(text):
            self.heard.setdefault(place, {})[text] = not missing
        return spoken

    def _said(self, text: str, depth: int, piece: bool = False) -> tuple[str, int]:
        """What a text is called, and how many letters of it have no words."""
        if not _LETTERS.search(text):
            return self._plain(text), 0
        if text in self._kept or _DOTTED.fullmatch(text):
            return self._kept.get(text, text), 0
        books = (self._pieces, self._entries) if piece else (self._entries,)
        for book in books:
            if (exact := book.word(text)) is not None:
                return exact, 0
        best = text, len(text)
        if depth == _DEEPEST:
            return best
        for pattern in (pattern for book in books for pattern in book.candidates(text)):
            found = self._filled(pattern, text, depth)
            if found is not None and found[1] < best[1]:
                best = found
                if not best[1]:
                    return best
        in_parts = self._in_parts(text, depth)
        if in_parts is not None and in_parts[1] < best[1]:
            best = in_parts
        # Half a sentence in another language is worse than none.
        return best if best[1] * 2 <= len(text) else (text, len(text))

    def _part(self, text: str, depth: int) -> tuple[str, int]:
        """A part of a text said, once for all texts that it is part of."""
        if depth + 1 >= _DEEPEST:
            return self._said(text, depth + 1)
        if text not in self._inner:
            self._inner[text] = self._said(text, depth + 1)
        return self._inner[text]

    def _plain(self, text: str) -> str:
        return self.marks.write(text) if _ONE_NUMBER.fullmatch(text) else text

    def _filled(self, pattern: _Pattern, text: str, depth: int) -> tuple[str, int] | None:
        """A pattern's translation with its holes said in turn, None where the text isn't of its kind."""
        holes, large = pattern.match(text), False
        if holes is None and pattern.head and pattern.head[0] != text[0]:
            holes, large = pattern.match(_turned(text)), text[0].isupper()
        if holes is None:
            return None
        missing, said = 0, {}
        for name, held in holes.items():
            said[name], lacking = (held, 0) if name[0] == _AS_IT_IS else self._part(held, depth)
            missing += lacking
        filled = "".join(part if i % 2 == 0 else said[part] for i, part in enumerate(pattern.said))
        return (filled[:1].upper() + filled[1:] if large else filled), missing

    def _in_parts(self, text: str, depth: int) -> tuple[str, int] | None:
        """A text without an entry by its parts, the way that leaves least without words; None where it has none."""
        if _UNIT.fullmatch(text):
            # Symbols and codes without words are the same everywhere.
            return "/".join(self._entries.word(symbol) or symbol for symbol in text.split("/")), 0
        best: tuple[str, int] | None = None
        for parts, between in _ways_apart(text):
            said = [self._part(part, depth) for part in parts]
            missing = sum(lacking for _, lacking in said)
            if best is None or missing < best[1]:
                best = (
                    said[0][0] + "".join(b + s for b, (s, _) in zip(between, said[1:], strict=True)),
                    missing,
                )
            if not missing:
                break
        return best


def _ways_apart(text: str) -> Iterator[tuple[list[str], list[str]]]:
    """The ways in which a text falls into parts, each with what stands between them."""
    for splitter in _PARTS:
        parts = splitter.split(text)
        if len(parts) > 1:
            yield parts, splitter.findall(text)
    for pair in _PAIRS:
        at = text.rfind(pair)
        while at > 0:
            yield [text[:at], text[at + len(pair) :]], [pair]
            at = text.rfind(pair, 0, at)


class _Entries:
    """The entries of a table: whole texts, and patterns found by how they begin or end, the most wordy first."""

    def __init__(self, entries: Mapping[str, str]) -> None:
        self._exact = {english: said for english, said in entries.items() if "{" not in english}
        patterns = [_Pattern(english, said) for english, said in entries.items() if "{" in english]
        patterns.sort(key=lambda pattern: -pattern.weight)
        self._starting: dict[str, list[_Pattern]] = {}
        self._ending: dict[str, list[_Pattern]] = {}
        self._others: list[_Pattern] = []
        for rank, pattern in enumerate(patterns):
            pattern.rank = rank
            if len(pattern.head) >= _EDGE:
                self._starting.setdefault(pattern.head[:_EDGE], []).append(pattern)
            elif len(pattern.tail) >= _EDGE:
                self._ending.setdefault(pattern.tail[-_EDGE:], []).append(pattern)
            else:
                self._others.append(pattern)

    def word(self, text: str) -> str | None:
        """The entry of a whole text, which may begin with a large letter where the entry doesn't, or the other way."""
        if text in self._exact:
            return self._exact[text]
        other = self._exact.get(_turned(text))
        if other is None:
            return None
        return other[0].upper() + other[1:] if text[0].isupper() else other

    def candidates(self, text: str) -> list[_Pattern]:
        """Patterns that a text may be of."""
        turned = _turned(text)
        found = [
            p
            for head in (text, turned)
            for p in self._starting.get(head[:_EDGE], ())
            if head.startswith(p.head)
        ]
        found += self._ending.get(text[-_EDGE:], ())
        found += self._others
        possible = [p for p in found if p.needed in text and text.endswith(p.tail)]
        return sorted(possible, key=lambda pattern: pattern.rank)


def _turned(text: str) -> str:
    """A text with its first letter small where it is large, and the other way."""
    return (text[0].lower() if text[0].isupper() else text[0].upper()) + text[1:]


class _Pattern:
    """An entry with holes."""

    def __init__(self, english: str, said: str) -> None:
        self.english, self.said = english, HOLE.split(said)
        parts = HOLE.split(english)
        self.head, self.tail = parts[0], parts[-1]
        self.weight = sum(len(part) for part in parts[::2])
        self.needed = max(parts[2:-1:2], key=len, default="")  # what must stand somewhere within
        self.rank = 0
        self._compiled: re.Pattern[str] | None = None

    def match(self, text: str) -> dict[str, str] | None:
        """What fills each hole, None where the text isn't of this kind."""
        if not text.startswith(self.head) or not text.endswith(self.tail):
            return None
        if self._compiled is None:
            self._compiled = re.compile(_shape(self.english), re.DOTALL)
        found = self._compiled.fullmatch(text)
        return found.groupdict() if found else None


def _shape(english: str) -> str:
    """The regular expression of a pattern; a hole that comes again must hold the same."""
    shape, seen = "", set()
    for place, part in enumerate(HOLE.split(english)):
        if place % 2 == 0:
            shape += re.escape(part)
        elif part in seen:
            shape += f"(?P={part})"
        else:
            seen.add(part)
            shape += f"(?P<{part}>{_TAKES.get(part[0], '.+?')})"
    return shape


__all__ = ["HOLE", "HOLE_NAME", "Marks", "Spoken", "Tongue"]
