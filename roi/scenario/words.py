"""How texts are compared with names of ours: folded, whole, and with the nearest name offered when none fits.

No units and no money here. Which words stand for what is stated in the scenario; this file only compares.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping

from roi.scenario.problems import Problem

# How Python holds bytes of a file's name that are no UTF-8.
_BYTE = re.compile("[\udc80-\udcff]")


def spelled(text: str, backslash: str = "\\") -> str:
    """The text with bytes of files' names that are no letters spelled out, \\xff, as any file and any terminal can hold them."""
    return _BYTE.sub(lambda found: f"{backslash}x{ord(found[0]) - 0xDC00:02x}", text)


def fold(text: str) -> str:
    """The text as it is compared: case and the amount of white space don't count."""
    return " ".join(text.split()).casefold()


def quoted(text: str, limit: int = 40) -> str:
    """The text in quotes for a message, cut at `limit` characters, without line breaks or controls."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return f'"{plain}"' if len(plain) <= limit else f'"{plain[: limit - 3]}..."'


def nearest(text: str, known: Iterable[str]) -> str | None:
    """The member of `known` that looks most like `text`; None when none is close."""
    by_fold = {fold(k): k for k in known}
    found = difflib.get_close_matches(fold(text), by_fold, n=1, cutoff=0.6)
    return by_fold[found[0]] if found else None


def mend_name(text: str, known: Iterable[str]) -> str:
    """What to write instead of the unknown name `text`: the near one, or the list of those that exist."""
    names = list(known)
    near = nearest(text, names)
    return f"did you mean {quoted(near)}?" if near else f"known: {', '.join(names) or 'none'}"


def unknown_keys(table: Mapping[str, object], known: Iterable[str], where: str) -> list[Problem]:
    """A problem for each key of `table` that isn't among `known`."""
    names = list(known)
    return [
        Problem(where, f"{quoted(key)} is not a key of this table", mend_name(key, names))
        for key in table
        if key not in names
    ]


def word_list(
    ids: Iterable[str],
    listed: Mapping[str, object],
    where: str,
    problems: list[Problem],
    labels: Mapping[str, str] | None = None,
) -> dict[str, str]:
    """Folded word -> id. An id, the id with spaces for "_" and its label always stand for it; `listed` adds
    words.

    Faults (an unknown id, words that aren't a list of texts, a word listed for two ids) are added to
    `problems`.
    """
    names = list(ids)
    problems += unknown_keys(listed, names, where)
    meaning = {fold(form): name for name in names for form in (name, name.replace("_", " "))}
    for name in names:
        words = listed.get(name, [])
        if not isinstance(words, list) or not all(isinstance(w, str) for w in words):
            problems.append(
                Problem(f"{where}.{name}", "must be a list of texts", f'write {name} = ["one", "two"]')
            )
            continue
        label = (labels or {}).get(name)
        for word in [*words, *([label] if label else [])]:
            other = meaning.setdefault(fold(word), name)
            if other != name:
                problems.append(
                    Problem(
                        f"{where}.{name}", f"{quoted(word)} already stands for {other}", "list each word once"
                    )
                )
    return meaning
