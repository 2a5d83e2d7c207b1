"""Methods that start from another method of the scenario: `same_as = "processed"` in [methods.processed_tuned].

Such a method is the other one as the scenario states it, then what its own file differs in (what that file itself states,
not what it is based on), then what the scenario states for it. A number taken over is the same input, not another of the
same size: whoever changes the one changes both. Who is called what (`OWN`) is never taken over. No amounts are judged here.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roi.scenario.problems import Problem

if TYPE_CHECKING:
    from roi.scenario.files import Key, Raw

NAME = "same_as"
OWN = ("label", "short", "note", "use", "schema", NAME)  # of one method, whatever it is the same as

Chain = Sequence[tuple[Mapping[str, Any], Path]]


def read_same_as(chain: Chain, methods: Sequence[str], problems: list[Problem]) -> dict[str, str]:
    """{method: the one it starts from}, in `methods`' order; what can't be is left out and told.

    chain : the scenario and what it is based on, the farthest first
    """
    there = [m for m in methods if _last(chain, m) is not False]
    current = next((tree["current"] for tree, _ in reversed(chain) if "current" in tree), None)
    found: dict[str, str] = {}
    for name in there:
        said, file = _stated(chain, name)
        if said is None or said is False:
            continue
        where = f"{file}, methods.{name}.{NAME}"
        others = [m for m in there if m != name]
        known = f"one of {', '.join(others)}" if others else "state the other method too"
        if said == name:
            problems.append(Problem(where, "names the method itself", known))
        elif said not in others:
            near = difflib.get_close_matches(str(said), others, 1)
            mend = f'was "{near[0]}" meant?' if near else known
            problems.append(Problem(where, f"{said!r} is not among the methods", mend))
        elif name == current:
            mend = f"state {name} itself, and let {said} be the same as it"
            problems.append(Problem(where, "the current method is what the others start from", mend))
        else:
            found[name] = said
    for name in list(found):
        if name in bases_of(found, name):
            file = _stated(chain, name)[1]
            what = f"leads back to itself: {' -> '.join([name, *bases_of(found, name)])}"
            problems.append(
                Problem(f"{file}, methods.{name}.{NAME}", what, "let one of them stand on its own")
            )
    return {} if any(name in bases_of(found, name) for name in found) else found


def bases_first(methods: Sequence[str], same: Mapping[str, str]) -> list[str]:
    """The methods, each after the one it starts from, else in their order."""
    found: list[str] = []
    for name in methods:
        for each in [*bases_of(same, name)[::-1], name]:
            if each not in found:
                found.append(each)
    return found


def take_over(values: dict[Key, Raw], base: str, name: str) -> None:
    """Lay all that stands for one method under another's name, each value knowing whose it is."""
    for key, raw in list(values.items()):
        if key[:2] == ("methods", base) and len(key) > 2 and key[2] not in OWN:
            values["methods", name, *key[2:]] = replace(raw, same=raw.same or key)


def let_go(values: dict[Key, Raw]) -> None:
    """Let a value stand by itself where the one that it was the same as is gone, as the price of a rented machine is."""
    for key, raw in values.items():
        if raw.same and raw.same not in values:
            values[key] = replace(raw, same=())


def bases_of(same: Mapping[str, str], name: str) -> list[str]:
    """What a method starts from, what that does, and so on; a circle ends where it meets a name again."""
    found: list[str] = []
    here = same.get(name)
    while here is not None and here not in found:
        found.append(here)
        here = same.get(here)
    return found


def _last(chain: Chain, name: str) -> Any:
    """What the nearest scenario that names a method says of it."""
    for tree, _ in reversed(chain):
        table = tree.get("methods")
        if isinstance(table, Mapping) and name in table:
            return table[name]
    return None


def _stated(chain: Chain, name: str) -> tuple[Any, str]:
    """What a method says it is the same as, and in which file; None where nothing."""
    for tree, file in reversed(chain):
        table = tree.get("methods")
        method = table.get(name) if isinstance(table, Mapping) else None
        if isinstance(method, Mapping) and NAME in method:
            return method[NAME], file.name
    return None, ""


__all__ = ["NAME", "OWN", "bases_first", "bases_of", "let_go", "read_same_as", "take_over"]
