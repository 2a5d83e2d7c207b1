"""Trees written as TOML text, plainly or in any of the many forms that mean the same."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from random import Random
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def dumps(tree: Mapping[str, Any], draw: Random | None = None) -> str:
    """The tree as text that reads back as the tree. With `draw` keys are shuffled and tables, quotes and blanks vary."""
    lines: list[str] = []
    _table(tree, (), lines, draw)
    return "\n".join(lines) + "\n"


def _table(tree: Mapping[str, Any], path: tuple[str, ...], lines: list[str], draw: Random | None) -> None:
    items = list(tree.items())
    if draw is not None:
        draw.shuffle(items)
    below = {k for k, v in items if isinstance(v, dict) and _stands_alone(v, draw)}
    plain = [(k, v) for k, v in items if k not in below]
    if path and (plain or not below):
        lines.append(f"[{'.'.join(_key(part) for part in path)}]")
    for key, value in plain:
        gap = draw.choice(["", " ", "  ", "\t"]) if draw is not None else " "
        if draw is not None and isinstance(value, dict) and value and draw.random() < 0.5:
            # An inline table's content may stand as dotted keys too.
            lines += [f"{_key(key)}.{_key(k)}{gap}={gap}{_value(v, draw)}" for k, v in value.items()]
        else:
            lines.append(f"{_key(key)}{gap}={gap}{_value(value, draw)}")
        if draw is not None and draw.random() < 0.1:
            lines.append(draw.choice(["", "# a remark", "   "]))
    for key, value in items:
        if key in below:
            _table(value, (*path, key), lines, draw)


def _stands_alone(value: dict[str, Any], draw: Random | None) -> bool:
    if draw is not None:
        return draw.random() < 0.7
    return any(isinstance(v, dict) for v in value.values()) or "best" not in value


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _quoted(name)


def _quoted(text: str) -> str:
    # JSON's escapes are TOML's, but for half a surrogate pair, which no TOML file can hold, and DEL.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: Any, draw: Random | None) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        literal = draw is not None and "'" not in value and value.isprintable() and draw.random() < 0.3
        return f"'{value}'" if literal else _quoted(value)
    if isinstance(value, int):
        return hex(value) if draw is not None and value >= 0 and draw.random() < 0.3 else str(value)
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, (dt.date, dt.datetime, dt.time)):
        return value.isoformat()
    if isinstance(value, list):
        return "[" + ", ".join(_value(v, draw) for v in value) + "]"
    return "{ " + ", ".join(f"{_key(k)} = {_value(v, draw)}" for k, v in value.items()) + " }"
