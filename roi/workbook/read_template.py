"""Reading a template: what a workbook shows, in which order; every problem at once, with its line and how to mend it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from roi.scenario.limits import leaves
from roi.scenario.problems import BadInput, Problem
from roi.scenario.things import clean
from roi.workbook.read_house import KEYS as STYLE_KEYS
from roi.workbook.read_house import read_house
from roi.workbook.read_language import load_language
from roi.workbook.template import (
    BLOCKS,
    METHODS,
    NEEDED_BLOCKS,
    NEEDED_SENTENCES,
    NEW_PAGE,
    PLACEHOLDER,
    PLACEHOLDERS,
    SENTENCES,
    SHEETS,
    SPOKEN_FROM,
    USUAL_BLOCKS,
    Template,
    shipped,
)
from roi.workbook.toml_lines import TomlLines, meant, short
from roi.workbook.tongue import Tongue

SCHEMA = 1
DEFAULT = "owner"
MOST_LINES, LONGEST_LINE, LONGEST_TITLE = 12, 250, 100
_KEYS = {
    "": ("schema", "workbook", "summary", "style"),
    "workbook": ("reader", "prepared_for", "prepared_by", "language", "sheets", "names", "keep_out"),
    "summary": ("opening", "sentences", "blocks", "closing"),
    "style": STYLE_KEYS,
}


def load_template(name: str) -> Template:
    """The template of this name, or of this .toml file. Raises BadInput with every problem found."""
    known = shipped()
    if name in known:
        return read_template(known[name])
    if name.endswith(".toml") or "/" in name or os.sep in name:
        return read_template(Path(name))
    mend = meant(name, known) or f"shipped are {', '.join(known)}; a file of your own ends in .toml"
    raise BadInput([Problem(f"--template {name}", "is no template known here", mend)])


def read_template(path: Path) -> Template:
    """The template in a file. Raises BadInput with every problem found."""
    return _Reader(path).template()


class _Reader:
    def __init__(self, path: Path) -> None:
        self.toml = TomlLines(path)
        self.wrong, self.table, self.listed = self.toml.wrong, self.toml.table, self.toml.listed

    def template(self) -> Template:
        for table, keys in _KEYS.items():
            self.toml.keys(table, keys)
        schema = self.toml.tree.get("schema")
        if schema is None:
            self.wrong("", "schema", "is missing", f"write schema = {SCHEMA} at the top")
        elif schema is True or schema != SCHEMA:
            self.wrong("", "schema", f"{schema!r} is not read by this version", f"write schema = {SCHEMA}")
        sheets, titles = self._sheets()
        found = Template(
            reader=self._line("workbook", "reader"),
            prepared_for=self._line("workbook", "prepared_for"),
            prepared_by=self._line("workbook", "prepared_by"),
            sheets=sheets,
            titles=titles,
            sentences=self._chosen("sentences", "sentence", SENTENCES, SENTENCES, NEEDED_SENTENCES),
            blocks=self._chosen("blocks", "block", BLOCKS, USUAL_BLOCKS, NEEDED_BLOCKS),
            opening=self._texts("opening"),
            closing=self._texts("closing"),
            names=self._switch("names"),
            keep_out=self._words_kept_out(),
            house=read_house(self.toml),
            tongue=self._tongue(),
        )
        for sentence, sheet in SPOKEN_FROM.items():
            if (
                "sentences" in self.table("summary")
                and sentence in found.sentences
                and not found.wants(sheet)
            ):
                mend = f'put {{ sheet = "{sheet}" }} into sheets, or take the sentence out'
                self.wrong(
                    "summary", "sentences", f'"{sentence}" speaks of {sheet}, left out', mend, value=sentence
                )
        for block, texts in (("opening", found.opening), ("closing", found.closing)):
            if texts and block not in found.blocks:
                mend = f'put "{block}" into blocks where they belong, or take the lines out'
                self.wrong("summary", block, "has lines that no block shows", mend)
        self.toml.refuse()
        return found

    def _tongue(self) -> Tongue | None:
        name = self._line("workbook", "language")
        beside = self.toml.folder / name
        if (name.endswith(".toml") or "/" in name or os.sep in name) and leaves(self.toml.folder, name):
            mend = "copy the language's file beside the template"
            self.wrong("workbook", "language", f"{short(name)} leaves the folder of the template", mend)
            return None
        try:
            return load_language(str(beside) if name.endswith(".toml") else name)
        except BadInput as bad:
            if name.endswith(".toml"):
                self.toml.problems += bad.problems
            else:
                self.wrong(
                    "workbook", "language", f"{short(name)} is no language known here", bad.problems[0].mend
                )
            return None

    def _line(self, table: str, key: str, default: str = "") -> str:
        value = self.table(table).get(key, default)
        if isinstance(value, str) and len(value) <= LONGEST_LINE:
            return self._checked(table, key, value, ())
        mend = f'write {key} = "...", at most {LONGEST_LINE} characters'
        self.wrong(table, key, "is not a short text", mend)
        return default

    def _switch(self, key: str) -> bool | None:
        value = self.table("workbook").get(key)
        if value is None or isinstance(value, bool):
            return value
        self.wrong(
            "workbook",
            key,
            f"{short(value)} is neither true nor false",
            f"write {key} = true or {key} = false",
        )
        return None

    def _words_kept_out(self) -> tuple[str, ...]:
        found = self.listed("workbook", "keep_out") or []
        for word in found:
            if not isinstance(word, str) or not 2 <= len(word.strip()) <= LONGEST_TITLE:
                mend = f"each is a text in quotation marks, 2 to {LONGEST_TITLE} characters"
                self.wrong("workbook", "keep_out", f"{short(word)} can't be kept out", mend, value=word)
        return tuple(clean(word) for word in found if isinstance(word, str))

    def _texts(self, key: str) -> tuple[str, ...]:
        found = self.listed("summary", key) or []
        if len(found) > MOST_LINES:
            self.wrong("summary", key, f"has {len(found)} lines", f"keep to {MOST_LINES}")
        good = []
        for text in found:
            if not isinstance(text, str) or not text.strip() or len(text) > LONGEST_LINE:
                mend = f"each line is a text in quotation marks, 1 to {LONGEST_LINE} characters"
                self.wrong("summary", key, f"{short(text)} is no line", mend, value=text)
            else:
                good.append(self._checked("summary", key, text, PLACEHOLDERS))
        return tuple(good)

    def _checked(self, table: str, key: str, text: str, known: Sequence[str]) -> str:
        """A text as one printable line, its placeholders known."""
        for name in PLACEHOLDER.findall(text):
            if name not in known:
                shown = ", ".join("{" + k + "}" for k in known)
                mend = meant(name, known) or (f"known here: {shown}" if known else "no placeholders here")
                self.wrong(table, key, f"{{{name}}} is not filled in here", mend, value=f"{{{name}}}")
        return clean(text)

    # Sheets, sentences, blocks

    def _sheets(self) -> tuple[tuple[str, ...], dict[str, str]]:
        order: list[str] = []
        titles: dict[str, str] = {}
        for number, entry in enumerate(self.listed("workbook", "sheets") or [], 1):
            name = entry.get("sheet") if isinstance(entry, dict) else None
            if not isinstance(name, str):
                mend = 'write { sheet = "Inputs" }, and title = "..." for a heading of your own'
                self.wrong("workbook", "sheets", f"entry {number} names no sheet", mend, value=entry)
                continue
            times = order.count(name)
            order.append(name)
            for key in set(entry) - {"sheet", "title"}:
                mend = meant(key, ("title",)) or "an entry has sheet and title"
                self.wrong("workbook", "sheets", f'"{key}" is not a key of a sheet', mend, name, times)
            if name not in SHEETS:
                mend = meant(name, SHEETS) or f"known are {', '.join(SHEETS)}"
                self.wrong("workbook", "sheets", f'"{name}" is no sheet', mend, name, times)
            elif times:
                self.wrong("workbook", "sheets", f'"{name}" is listed twice', "keep one", name, times)
            title = entry.get("title", "")
            if not isinstance(title, str) or len(title) > LONGEST_TITLE:
                mend = f'write title = "...", at most {LONGEST_TITLE} characters'
                self.wrong("workbook", "sheets", f'the title of "{name}" is no heading', mend, name, times)
            elif title:
                known = (*PLACEHOLDERS, "method") if name == METHODS else PLACEHOLDERS
                titles[name] = self._checked("workbook", "sheets", title, known)
        if "About" in order[2:]:
            mend = "list it first or second, or leave it out of the list: then it comes first"
            self.wrong("workbook", "sheets", '"About" stands too far back', mend, "About")
        return tuple(order), titles

    def _chosen(
        self, key: str, noun: str, known: Sequence[str], usual: tuple[str, ...], needed: Sequence[str]
    ) -> tuple[str, ...]:
        found = self.listed("summary", key)
        if found is None:
            return usual
        for place, name in enumerate(found):
            times = found[:place].count(name)
            if not isinstance(name, str) or name not in known:
                mend = meant(str(name), known) or f"known are {', '.join(known)}"
                self.wrong("summary", key, f"{short(name)} is no {noun}", mend, name, times)
            elif times and name != NEW_PAGE:
                self.wrong("summary", key, f'"{name}" is listed twice', "keep one", name, times)
        for name in needed:
            if name not in found:
                self.wrong("summary", key, f'"{name}" is missing', f'add "{name}": no reader can do without')
        return tuple(name for name in found if isinstance(name, str))
