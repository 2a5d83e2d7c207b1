"""Reading a language's file: English texts and what each is called; every problem at once, with its line and the mend.

A file holds `language`, its name; `code`, that of BCP 47, which pages bear; [numbers], how numbers are written; [pieces],
entries for pieces of sentences; and any other tables of entries, whose names only sort them.
Shipped are those in roi/data/languages, by the name of the file.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import roi
from roi.scenario.limits import parsed, read_whole
from roi.scenario.problems import BadInput, Problem
from roi.workbook.toml_lines import meant, short
from roi.workbook.tongue import HOLE, HOLE_NAME, Marks, Tongue

SCHEMA = 1
SOURCE = "en"  # what the code is written in
PIECES = "pieces"
LARGEST = 2_000_000  # bytes
_CODE = re.compile(r"|[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")  # as in BCP 47
_NUMBERS = {
    "thousands": (",", ".", " ", "'", "\N{NARROW NO-BREAK SPACE}", ""),
    "decimal": (".", ","),
    "date": ("{y}-{m}-{d}", "{d}.{m}.{y}", "{d}/{m}/{y}", "{m}/{d}/{y}", "{d}-{m}-{y}"),
}


def shipped_languages() -> dict[str, Path]:
    """The shipped languages by the names of their files."""
    folder = Path(roi.__file__).parent / "data" / "languages"
    return {file.stem: file for file in sorted(folder.glob("*.toml"), key=lambda file: file.name)}


def load_language(name: str) -> Tongue | None:
    """The language of this name, or of this .toml file; None for "" and "en". Raises BadInput with every problem found."""
    known = shipped_languages()
    if name in ("", SOURCE):
        return None
    if name in known:
        return read_language(known[name])
    if name.endswith(".toml") or "/" in name or os.sep in name:
        return read_language(Path(name))
    listed = (SOURCE, *known)
    mend = meant(name, listed) or f"shipped are {', '.join(listed)}; a file of your own ends in .toml"
    raise BadInput([Problem(f"--language {name}", "is no language known here", mend)])


def read_language(path: Path) -> Tongue:
    """The language in a file. Raises BadInput with every problem found."""
    return _Reader(path).tongue()


class _Reader:
    def __init__(self, path: Path) -> None:
        self.file = path.name
        self.problems: list[tuple[int, Problem]] = []
        text = _text_of(path)
        self.lines = text.splitlines()
        try:
            self.tree: dict[str, Any] = parsed(text)
        except (ValueError, RecursionError) as wrong:
            at = re.search(r"at line (\d+)", str(wrong))
            number = int(at[1]) if at else len(self.lines)
            mend = (
                "look for a missing quotation mark or = sign there; each English text stands once in a table"
            )
            raise BadInput([Problem(f"{self.file}, line {number}", f"is not TOML: {wrong}", mend)]) from None

    def tongue(self) -> Tongue:
        schema, name = self.tree.pop("schema", None), self.tree.pop("language", None)
        if schema is True or schema != SCHEMA:
            what = "is missing" if schema is None else f"{schema!r} is not read by this version"
            self._wrong("schema", what, f"write schema = {SCHEMA} at the top")
        if not isinstance(name, str) or not name.strip():
            self._wrong("language", "is no name", 'write language = "..." at the top')
        code = self.tree.pop("code", "")
        if not isinstance(code, str) or not _CODE.fullmatch(code):
            self._wrong(
                "code",
                f"{short(code)} is no language's code",
                'write one such as code = "de", or leave it out',
            )
        marks = self._marks(self.tree.pop("numbers", {}))
        pieces: dict[str, str] = {}
        others: dict[str, str] = {}
        for table, found in self.tree.items():
            entries = pieces if table == PIECES else others
            if not isinstance(found, dict):
                self._wrong(table, "stands outside a table", "entries stand below a heading such as [texts]")
                continue
            for english, said in found.items():
                self._entry(english, said)
                if english in entries and entries[english] != said:
                    self._wrong(
                        english, "stands in two tables, with two translations", "keep one", again=True
                    )
                entries[english] = said
        if self.problems:
            raise BadInput([problem for _, problem in sorted(self.problems, key=lambda found: found[0])])
        return Tongue(str(name), others, pieces, marks, code)

    def _entry(self, english: str, said: object) -> None:
        if not isinstance(said, str) or not said.strip():
            what = "has an empty translation" if isinstance(said, str) else "has no text as its translation"
            self._wrong(english, what, "write one, or take the line out: the text then stays English")
            return
        if english != english.strip() or said != said.strip():
            self._wrong(
                english,
                "begins or ends with a space",
                "take spaces at the ends out: they are kept as in English",
            )
        holes, filled = HOLE.findall(english), HOLE.findall(said)
        for hole in dict.fromkeys(holes):
            if not HOLE_NAME.fullmatch(hole):
                mend = "a hole is named with small letters and digits, like {a} or {n1}"
                self._wrong(english, f"has a hole {{{hole}}} that is no name", mend)
            elif hole not in filled:
                self._wrong(
                    english, f"the translation lacks {{{hole}}}", f"put {{{hole}}} where it belongs in it"
                )
        for hole in dict.fromkeys(filled):
            if hole not in holes:
                listed = ", ".join(f"{{{h}}}" for h in dict.fromkeys(holes)) or "none"
                mend = meant(hole, holes) or f"holes of the English text: {listed}"
                self._wrong(english, f"{{{hole}}} in the translation is not in the English text", mend)
        if re.search(r"\}\{", english):
            self._wrong(
                english, "has two holes with nothing between them", "put words between, or make them one"
            )

    def _marks(self, found: object) -> Marks:
        if not isinstance(found, dict):
            self._wrong("numbers", "is not a table", "write [numbers] on a line of its own, its keys below")
            return Marks()
        for key, value in found.items():
            if key not in _NUMBERS:
                self._wrong(key, "is not a key of [numbers]", f"known are {', '.join(_NUMBERS)}")
            elif value not in _NUMBERS[key]:
                self._wrong(
                    key, f"{short(value)} is not taken", "one of " + " ".join(f'"{v}"' for v in _NUMBERS[key])
                )
        marks = Marks(**{key: value for key, value in found.items() if value in _NUMBERS.get(key, ())})
        if marks.thousands == marks.decimal:
            self._wrong("decimal", "is the same as the mark between thousands", "make one of them another")
        return marks

    def _wrong(self, key: str, what: str, mend: str, *, again: bool = False) -> None:
        line = _line_of(self.lines, key, last=again)
        where = f"{self.file}, line {line}, {short(key)}" if line else f"{self.file}, {short(key)}"
        self.problems.append((line, Problem(where, what, mend)))


def _line_of(lines: Sequence[str], key: str, *, last: bool) -> int:
    """The line where a key stands, or stands last; 0 where it isn't found."""
    plain = key.replace("\\", "\\\\").replace('"', '\\"')
    starts = tuple(f"{mark}{text}{mark}" for mark, text in (('"', plain), ("'", key), ("", key)))
    found = [
        number
        for number, line in enumerate(lines, 1)
        for start in starts
        if line.lstrip().startswith(start) and line.lstrip()[len(start) :].lstrip().startswith(("=", "]"))
    ]
    return (found[-1] if last else found[0]) if found else 0


def _text_of(path: Path) -> str:
    """The text of a language's file. Raises BadInput with the reason it can't be had."""
    try:
        if path.stat().st_size > LARGEST:
            raise BadInput(
                [Problem(path.name, f"is larger than {LARGEST:,} bytes", "it is to be a small text file")]
            )
        return read_whole(path, LARGEST).decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        what = f"is not UTF-8 text (byte {wrong.start})"
        raise BadInput([Problem(path.name, what, "save it as UTF-8")]) from None
    except OSError as wrong:
        mend = "name a .toml file that may be read, or a shipped language: " + ", ".join(shipped_languages())
        raise BadInput([Problem(str(path), f"can't be read: {wrong.strerror or wrong}", mend)]) from None


__all__ = ["SOURCE", "load_language", "read_language", "shipped_languages"]
