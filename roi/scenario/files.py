"""Scenario files read and laid one over another, each value remembering where it stands.

Layers, later ones winning: the shipped defaults, the method files, the scenario that `based_on` names, the scenario. A
method that is the `same_as` another stands on that one's layers instead, all of them.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from roi.scenario.catalogue import PLAIN, data_file, entry_for, load, place
from roi.scenario.limits import leaves, parsed, read_whole
from roi.scenario.problems import BadInput, Problem
from roi.scenario.same_as import NAME, bases_first, bases_of, read_same_as, take_over

if TYPE_CHECKING:
    from roi.scenario.worklog import WorkLog

SCHEMA = 1
LARGEST = 2_000_000  # bytes of a scenario file
DEEPEST = 12  # tables and lists inside one another; a number with its range lies 6 deep
_VALUE_KEYS = {"best", "low", "high", "sure", "status", "source", "date", "by", "valid_until", "unit", "note"}
SPREADSHEETS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods", ".numbers")
# Tables that are read by their own readers, whole.
WHOLE = ("log", "summary", "sizes", "ledger")

Key = tuple[str, ...]


@dataclass(frozen=True)
class Raw:
    """One value as written: a text, number, list or {best, low, ...}; `file` says where, `default` whether shipped.

    cell : where in a workbook it stands, such as "Inputs!C12"
    same : the key of another method's value that this is, where a method is the same as that one; empty where it isn't
    """

    value: Any
    file: str
    default: bool
    cell: str = ""
    same: Key = ()

    def at(self, key: Key) -> str:
        key = self.same or key
        place = f"{self.cell} ({'.'.join(key)})" if self.cell else ".".join(key)
        return f"{self.file}, {place}"


@dataclass(frozen=True)
class Layers:
    """Everything stated, flat, in reading order, with the tables other readers take whole.

    work : the work itself and what it was read from, where a workbook has kept it
    """

    values: dict[Key, Raw]
    whole: dict[str, tuple[dict[str, Any], str, Path]]
    methods: tuple[str, ...]
    presses: tuple[str, ...]
    problems: list[Problem]
    work: tuple[WorkLog, str] | None = None


def read_layers(path: Path) -> Layers:
    """Read a scenario file, what it is based on, and the method files it uses. Raises BadInput if it can't be read."""
    problems: list[Problem] = []
    values: dict[Key, Raw] = {}
    whole: dict[str, tuple[dict[str, Any], str, Path]] = {}
    _lay(load("shop.toml"), "the shipped defaults", True, values)
    chain = _chain(path, problems)
    methods = list(dict.fromkeys(m for tree, _ in chain for m in _table(tree, "methods")))
    same = read_same_as(chain, methods, problems)
    methods = bases_first(methods, same)
    for name in methods:
        if name not in same:
            for method, told, shipped in _method_files(name, _use(chain, name), path, problems):
                _lay({"methods": {name: method}}, told, shipped, values)
    for tree, file in chain:
        for section in WHOLE:
            if isinstance(tree.get(section), dict):
                whole[section] = (tree[section], f"{file.name}, {section}", file.parent)
                # A shop states its work once: a log in a variant replaces the summary of what it is based on.
                for other in {"log", "summary"} - {section} if section in ("log", "summary") else ():
                    if other not in tree:
                        whole.pop(other, None)
        stated = {k: v for k, v in tree.items() if k not in WHOLE}
        if isinstance(stated.get("methods"), dict):
            stated["methods"] = {k: v for k, v in stated["methods"].items() if k not in same}
        _lay(stated, file.name, False, values)
    for name in methods:
        if name in same:
            take_over(values, same[name], name)
            for method, told, shipped in _own_files(name, bases_of(same, name), chain, path, problems):
                _lay({"methods": {name: method}}, told, shipped, values)
            for tree, file in chain:
                if name in _table(tree, "methods"):
                    _lay({"methods": {name: tree["methods"][name]}}, file.name, False, values)
    # `= false` leaves a thing out, unless false is what the key says.
    dropped = {k for k, raw in values.items() if raw.value is False and len(k) > 1 and not place(k, PLAIN)}
    kept = {k: r for k, r in values.items() if not any(k[: len(d)] == d for d in dropped)}
    problems += left_out(kept, chain[-1][1].name)
    kept_methods = tuple(m for m in methods if ("methods", m) not in dropped)
    presses = dict.fromkeys(p for tree, _ in chain for p in _table(tree, "presses"))
    kept_presses = tuple(p for p in presses if ("presses", p) not in dropped)
    return Layers(kept, whole, kept_methods, kept_presses, problems)


def left_out(
    values: Mapping[Key, Raw],
    file: str,
    mend: str = "state it, or take the line out: its default counts then",
) -> list[Problem]:
    """A problem for each shop-wide default that is neither there nor replaced; a grade may be left out where nobody needs it."""
    shipped: dict[Key, Raw] = {}
    _lay(load("shop.toml"), "", True, shipped)
    tables = {key[:depth] for key in values for depth in range(1, len(key) + 1)}
    what = "is left out, and nothing can be reckoned without it"
    return [
        Problem(f"{file}, {'.'.join(key)}", what, mend)
        for key in shipped
        if key[0] != "grades" and key not in values and not any(key[:d] in values for d in range(1, len(key)))
        and (key not in tables or entry_for(key) is not None)
    ]  # fmt: skip


def is_workbook(path: Path) -> bool:
    """Whether a file is taken for a spreadsheet program's: by its name."""
    return path.suffix.lower() in SPREADSHEETS


def load_toml(path: Path) -> dict[str, Any]:
    """Read one TOML file. Raises BadInput with the reason."""
    where = path.name
    if is_workbook(path):
        mend = "give the workbook by itself, in place of a scenario file"
        raise BadInput([Problem(where, "is a workbook, and no scenario file can be built on one", mend)])
    try:
        if path.stat().st_size > LARGEST:
            raise BadInput(
                [Problem(where, f"is larger than {LARGEST:,} bytes", "a scenario is a small text file")]
            )
        tree = parsed(read_whole(path, LARGEST).decode("utf-8-sig"))
    except FileNotFoundError:
        near = difflib.get_close_matches(
            path.name, [p.name for p in path.parent.glob("*")] if path.parent.is_dir() else [], 1
        )
        raise BadInput(
            [Problem(str(path), "does not exist", f"was '{near[0]}' meant?" if near else "check the path")]
        ) from None
    except UnicodeDecodeError as wrong:
        raise BadInput(
            [Problem(where, f"is not UTF-8 text (byte {wrong.start})", "save it as UTF-8")]
        ) from None
    except ValueError as wrong:
        raise BadInput([Problem(where, f"is not TOML: {wrong}", "mend the line named")]) from None
    except RecursionError:
        raise BadInput([_too_deep(where)]) from None
    except IsADirectoryError:
        raise BadInput(
            [Problem(str(path), "is a folder, not a scenario", "name the .toml file in it")]
        ) from None
    except OSError as wrong:
        mend = "check that the file may be read and is not locked by another program"
        raise BadInput([Problem(str(path), f"can't be read: {wrong.strerror or wrong}", mend)]) from None
    # Headings with many dots nest without limit where brackets can't, and all that follows walks the tree.
    if not _shallow(tree):
        raise BadInput([_too_deep(where)])
    return tree


def _too_deep(where: str) -> Problem:
    what = "tables or lists are nested too deeply to be a scenario"
    return Problem(where, what, f"keep to {DEEPEST} levels: [methods.NAME.items.NAME] is 4")


def _shallow(tree: dict[str, Any]) -> bool:
    level: list[Any] = [tree]
    for _ in range(DEEPEST):
        held = [x for node in level for x in (node.values() if isinstance(node, dict) else node)]
        level = [x for x in held if isinstance(x, (dict, list))]
        if not level:
            return True
    return False


def inside(folder: Path, name: object, where: str) -> Path:
    """A file named in a scenario, which must not leave the scenario's folder. Raises BadInput."""
    if not isinstance(name, str) or not name.strip() or "\0" in name:
        raise BadInput([Problem(where, f"{name!r} is not a file name", "")])
    if leaves(folder, name):
        raise BadInput(
            [
                Problem(
                    where, f'"{name}" leaves the folder of the scenario', "keep the file beside the scenario"
                )
            ]
        )
    return (folder / name).resolve()


def _chain(path: Path, problems: list[Problem]) -> list[tuple[dict[str, Any], Path]]:
    """The scenario and what it is based on, the farthest first."""
    chain: list[tuple[dict[str, Any], Path]] = []
    seen: set[Path] = set()
    here: Path | None = path
    while here is not None:
        if here.resolve() in seen:
            raise BadInput(
                [
                    Problem(
                        f"{here.name}, based_on", "leads back to itself", "let one scenario stand on its own"
                    )
                ]
            )
        seen.add(here.resolve())
        tree = load_toml(here)
        _check_schema(tree, here.name, problems)
        chain.insert(0, (tree, here))
        base = tree.get("based_on")
        here = inside(here.parent, base, f"{here.name}, based_on") if base is not None else None
    return chain


def _check_schema(tree: Mapping[str, Any], file: str, problems: list[Problem]) -> None:
    schema = tree.get("schema")
    if schema is None:
        problems.append(Problem(f"{file}, schema", "is missing", f"write schema = {SCHEMA} at the top"))
    elif not isinstance(schema, int) or isinstance(schema, bool):
        problems.append(
            Problem(f"{file}, schema", f"{schema!r} is not a whole number", f"write schema = {SCHEMA}")
        )
    elif schema > SCHEMA:
        problems.append(
            Problem(
                f"{file}, schema",
                f"{schema} is newer than this version reads ({SCHEMA})",
                "install a newer version",
            )
        )
    elif schema < SCHEMA:
        problems.append(
            Problem(f"{file}, schema", f"{schema} is too old", f"bring the file up to schema {SCHEMA}")
        )


def shipped_methods() -> list[str]:
    """The names of the shipped method files."""
    return sorted(
        f.name.removesuffix(".toml") for f in data_file("methods").iterdir() if f.name.endswith(".toml")
    )


def shipped_method(name: str) -> dict[str, Any]:
    """A shipped method whole: what its file says over what the file says that it is based on (`use`)."""
    own = dict(load("methods", f"{name}.toml"))
    base = own.pop("use", None)
    return own if base is None else _over(shipped_method(str(base)), own, ("methods", name))


def _over(base: Mapping[str, Any], own: Mapping[str, Any], key: Key) -> dict[str, Any]:
    """One tree laid over another; a thing that is `false` in the upper one is left out."""
    found = dict(base)
    for name, value in own.items():
        here, below = (*key, name), found.get(name)
        if value is False and not place(here, PLAIN):
            found.pop(name, None)
        elif isinstance(value, dict) and isinstance(below, dict) and "best" not in value:
            found[name] = _over(below, value, here)
        else:
            found[name] = value
    return found


def _method_files(
    name: str, use: Any, scenario: Path, problems: list[Problem]
) -> list[tuple[dict[str, Any], str, bool]]:
    """The file a method starts from, a shipped one by name or one beside the scenario, after those it is based on."""
    where = f"{scenario.name}, methods.{name}.use"
    shipped = shipped_methods()
    if use is None:
        use = name if name in shipped else ""
    found: list[tuple[dict[str, Any], str, bool]] = []
    seen: set[Path] = set()
    while use != "":
        if use in shipped:
            found.append((shipped_method(use), f"the shipped method {use}", True))
            break
        if not isinstance(use, str) or not use.endswith(".toml"):
            near = difflib.get_close_matches(str(use), shipped, 1)
            listed = f"shipped are {', '.join(shipped)}; or name a .toml file"
            problems.append(
                Problem(
                    where,
                    f"{use!r} is not a method known here",
                    f'was "{near[0]}" meant?' if near else listed,
                )
            )
            break
        file = inside(scenario.parent, use, where)
        if file in seen:
            problems.append(
                Problem(where, f"{use} leads back to itself", "let one method file stand on its own")
            )
            break
        seen.add(file)
        tree = load_toml(file)
        _check_schema(tree, file.name, problems)
        found.append((tree, file.name, False))
        where, use = f"{file.name}, use", tree.pop("use", "")
    return found[::-1]


def _use(chain: list[tuple[dict[str, Any], Path]], name: str) -> Any:
    """What a scenario says a method starts from, None where nothing."""
    stated = (t["methods"][name].get("use") for t, _ in chain[::-1] if "use" in _table(t, "methods", name))
    return next(stated, None)


def _own_files(
    name: str,
    bases: list[str],
    chain: list[tuple[dict[str, Any], Path]],
    scenario: Path,
    problems: list[Problem],
) -> list[tuple[dict[str, Any], str, bool]]:
    """What a method's files differ in from the methods it starts from: those that are not also theirs."""
    mine = _method_files(name, _use(chain, name), scenario, problems)
    theirs = [file for base in bases for file in _method_files(base, _use(chain, base), scenario, [])]
    own = [file for file in mine if not file[2] and file not in theirs]
    ours, shared = _lineages(mine), _lineages(theirs)
    differing = [one for one in ours if one not in shared]
    if not shared:  # those are stated whole: the last file is what they stand for
        differing = ours[:-1]
    whole = not differing and not shared and not own
    if ours and (whole or (shared and ours[-1] != shared[-1]) or ours[0] in shared[1:]):
        what = f"starts from the shipped method {ours[0]} too, which is no variant of {bases[0]}"
        mend = f"take {NAME} out, or write use = the name of a file based on what {bases[0]} starts from"
        problems.append(Problem(f"{scenario.name}, methods.{name}.{NAME}", what, mend))
        return own
    stated = [dict(load("methods", f"{one}.toml")) for one in differing[::-1]]
    for tree in stated:
        tree.pop("use", None)
    told = [f"the shipped method {one}" for one in differing[::-1]]
    return [*((tree, words, True) for tree, words in zip(stated, told, strict=True)), *own]


def _lineages(files: list[tuple[dict[str, Any], str, bool]]) -> list[str]:
    """The shipped methods that files are based on, nearest first, each once."""
    return list(
        dict.fromkeys(one for _, told, shipped in files if shipped for one in lineage(told.split()[-1]))
    )


def lineage(name: str) -> list[str]:
    """A shipped method's name, and those of the files it is based on, nearest first."""
    base = load("methods", f"{name}.toml").get("use")
    return [name] if base is None else [name, *lineage(str(base))]


def _table(tree: Mapping[str, Any], *path: str) -> dict[str, Any]:
    here: Any = tree
    for name in path:
        here = here.get(name) if isinstance(here, dict) else None
    return here if isinstance(here, dict) else {}


def _lay(tree: Mapping[str, Any], file: str, default: bool, values: dict[Key, Raw], key: Key = ()) -> None:
    for name, value in tree.items():
        here = (*key, name)
        if isinstance(value, dict) and not (value and set(value) <= _VALUE_KEYS and "best" in value):
            values.pop(here, None)
            _lay(value, file, default, values, here)
        else:
            values[here] = Raw(value, file, default)
