"""The small shop with inputs at the ends of what each may be, many at once, drawn by a seed; and what must hold of each.

An input without an end is taken a thousandth and a thousand times as large as shipped, now and then a hundred million times.
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner

from roi.cli import main as roi
from roi.scenario.dollar_rate import LEAST, MOST
from roi.scenario.scenario import read
from roi.scenario.stated import StatedInput
from roi.scenario.summary import LEAST_PLATES, MOST_PLATES
from roi.units.quantity import LONGEST_SIDE, SHORTEST_SIDE
from tests.extremes.shops import PLATES, Shop, small

ALL = (
    ("compare", "-o", "out.xlsx", "--json", "out.json"), ("check",), ("brief", "-o", "out.html"), ("breakeven",),
    ("sensitivity",), ("risk",), ("switching",), ("stress",), ("mix",), ("confirm",),
    ("explain", "direct.Present cost"),
)  # fmt: skip
# What moves the figures most, each at its end in half of the draws.
FAR = ("money.horizon", "money.inflation", "money.discount_rate", "growth.", "work.volume", "prices.")


@cache
def _shipped() -> tuple[StatedInput, ...]:
    with TemporaryDirectory() as folder:
        return tuple(read(small().write(Path(folder))).inputs.values())


def at_limits(seed: int) -> Shop:
    """A small shop at its ends: the same for the same seed."""
    draw = random.Random(seed)
    share = draw.choice((0.0, 0.02, 0.1, 0.5))
    lines = [
        f'{stated.key} = "{_end(stated, draw)} {stated.shown}"'
        for stated in _shipped()
        if draw.random() < (0.5 if stated.key.startswith(FAR) else share)
    ]
    swaps = []
    if draw.random() < 0.5:
        side = draw.choice((SHORTEST_SIDE, LONGEST_SIDE))
        swaps.append(("330 mm x 492 mm", f"{side} m x {draw.choice((SHORTEST_SIDE, LONGEST_SIDE))} m"))
    if draw.random() < 0.5:
        swaps.append((PLATES, PLATES.replace("300", repr(draw.choice((LEAST_PLATES, MOST_PLATES))))))
    if draw.random() < 0.3:
        swaps.append(('"USD"', f'"EUR"\nper_dollar = {draw.choice((LEAST, MOST))!r}'))
    base = small("", *swaps).files["shop.toml"]
    variant = 'schema = 1\nbased_on = "base.toml"\n' + "\n".join(lines) + "\n"
    if swaps and "per_dollar" in base:  # amounts in the currency of the base
        variant = variant.replace("USD", "EUR")
    return Shop({"shop.toml": variant, "base.toml": base})


def _end(stated: StatedInput, draw: random.Random) -> str:
    far = draw.choice((1e3, 1e3, 1e3, 1e8))
    least = stated.best / 1e3 if stated.least is None else stated.least
    most = (abs(stated.best) or 1.0) * far if stated.most is None else stated.most
    end = draw.choice((least, most)) * (100 if stated.percent else 1)
    return f"{end:.0f}" if stated.whole else repr(end)


def faults_at_limits(path: Path, commands: Sequence[Sequence[str]] = ALL) -> tuple[bool, list[str]]:
    """Whether the scenario is refused, and what is wrong with how the commands take it.

    Wrong is a crash, a refusal without a mend or by some commands only, and a figure of the JSON that isn't finite.
    """
    faults: list[str] = []
    codes = []
    for command, *more in commands:
        files = [str(path.parent / word) if word.startswith("out.") else word for word in more]
        done = CliRunner().invoke(roi, [command, str(path), *files])
        codes.append(done.exit_code)
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            faults.append(f"{command}: {done.exception!r}")
        elif done.exit_code == 2 and "mend:" not in done.output:
            faults.append(f"{command}: refused without a mend: {done.output[-300:]}")
        elif done.exit_code < 2 and "out.json" in more:
            found = json.loads((path.parent / "out.json").read_text("utf-8"))
            faults += [f"{command}: {where} is {x}" for where, x in _numbers(found) if not math.isfinite(x)]
    if 0 < codes.count(2) < len(codes):
        faults.append(f"refused by some only: {codes}")
    return codes.count(2) == len(codes), faults


def _numbers(found: object, where: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(found, dict):
        for key, inner in found.items():
            yield from _numbers(inner, f"{where}.{key}")
    elif isinstance(found, list):
        for i, inner in enumerate(found):
            yield from _numbers(inner, f"{where}.{i}")
    elif isinstance(found, (int, float)):
        yield where, float(found)
