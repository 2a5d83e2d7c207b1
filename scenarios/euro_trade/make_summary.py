"""Works out the [summary] of an invented trade printer from a year of invented forms, and writes it into shop.toml.

The forms are drawn by press, each with its colours, run and month; only their sums reach the scenario, as a printer
would hand them over who keeps counts and no log: by plate size, each of which has a press of its own. Deterministic:
only `random()` of one seeded generator and sorting are used. Run as a script it replaces the lines between BEGIN and END
and prints what the year adds up to. Prices are left to shop.toml.

Impressions are good ones each plate gives; shares in the summary are of forms, month shares are of plates.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log
from pathlib import Path

SEED = 2300
BEGIN, END = "# summary: made by make_summary.py\n", "# end of summary\n"
PLATES_A_MONTH = {"half": 1_265, "four": 621, "two": 299, "envelope": 115}  # 2,300: 55, 27, 13 and 5 %
MONTH_SHARES = (7.5, 7.5, 9, 8.5, 8.5, 8.5, 7.5, 4, 9.5, 10.5, 10.5, 8.5)  # % of plates, January first
CLASSES = {"under_1000": 1_000, "to_5000": 5_000, "to_15000": 15_000, "to_50000": 50_000, "more": 10**9}


@dataclass(frozen=True)
class Kind:
    """What a press prints: shares of forms by colours; impressions at shares of forms, from least to most."""

    press: str
    colours: dict[int, float]
    runs: tuple[tuple[float, int], ...]
    uncoated: float
    fine: float
    tight: float


KINDS = {
    "half": Kind(
        "five_colour",
        {1: 0.03, 2: 0.06, 4: 0.76, 5: 0.15},
        ((0, 500), (0.12, 1_000), (0.5, 3_500), (0.8, 8_000), (0.95, 18_000), (0.995, 50_000), (1, 90_000)),
        0.22,
        0.12,
        0.10,
    ),
    "four": Kind(
        "four_colour",
        {1: 0.10, 2: 0.14, 4: 0.76},
        ((0, 300), (0.25, 1_000), (0.5, 2_000), (0.8, 4_500), (0.95, 10_000), (1, 30_000)),
        0.35,
        0.08,
        0.10,
    ),
    "two": Kind(
        "two_colour",
        {1: 0.45, 2: 0.55},
        ((0, 250), (0.4, 1_000), (0.5, 1_300), (0.8, 3_500), (0.97, 12_000), (1, 25_000)),
        0.80,
        0.0,
        0.0,
    ),
    "envelope": Kind(
        "envelope",
        {1: 0.6, 2: 0.4},
        ((0, 500), (0.15, 1_000), (0.5, 3_000), (0.8, 8_000), (0.97, 25_000), (1, 60_000)),
        1.0,
        0.0,
        0.0,
    ),
}


@dataclass(frozen=True)
class Form:
    """One form; `month` 0 for January."""

    size: str
    plates: int
    impressions: int
    month: int
    uncoated: bool
    fine: bool
    tight: bool


def make_forms() -> list[Form]:
    """The year's forms, size by size."""
    draw = random.Random(SEED)
    return [form for size, kind in KINDS.items() for form in _of_size(draw, size, kind)]


def summary_text() -> str:
    """The lines of the scenario between BEGIN and END."""
    forms = make_forms()
    plates = sum(f.plates for f in forms)

    def table(cells: Mapping[str, object]) -> str:
        return "{ " + ", ".join(f"{name} = {value}" for name, value in cells.items()) + " }"

    by_size = {s: round(sum(f.plates for f in forms if f.size == s) / 12) for s in KINDS}
    presses = {size: f'"{kind.press}"' for size, kind in KINDS.items()}
    months = [sum(f.plates for f in forms if f.month == m) / plates for m in range(12)]
    return "\n".join(
        [
            "[summary]",
            f"plates_per_month = {table(by_size)}",
            "uv = 0.0",
            "confined = 0.0",
            f"press = {table(presses)}",
            f"month_share = [{', '.join(f'{m:.4f}' for m in months)}]",
            "",
            *(
                line
                for size in KINDS
                for line in _mix_text(size, [f for f in forms if f.size == size], table)
            ),
        ]
    )


def _mix_text(size: str, forms: list[Form], table: Callable[[Mapping[str, object]], str]) -> list[str]:
    """What the forms of one size are like, as shares of them."""

    def share(of: list[Form]) -> str:
        return f"{len(of) / len(forms):.4f}"

    edges = [("", 0), *CLASSES.items()]
    runs = {
        name: share([f for f in forms if low <= f.impressions < high])
        for (_, low), (name, high) in pairwise(edges)
    }
    colours = {
        f'"{c}"': share([f for f in forms if f.plates == c]) for c in sorted({f.plates for f in forms})
    }
    return [
        f"[summary.by_size.{size}]",
        f"runs = {table(runs)}",
        f"colours = {table(colours)}",
        f"uncoated = {share([f for f in forms if f.uncoated])}",
        f"tight = {share([f for f in forms if f.tight])}",
        f"above_150_lpi = {share([f for f in forms if f.fine])}",
        "",
    ]


def _of_size(draw: random.Random, size: str, kind: Kind) -> list[Form]:
    left, colours = 12 * PLATES_A_MONTH[size], []
    while left > 0:
        colours.append(min(left, _pick(draw, kind.colours)))
        left -= colours[-1]
    n = len(colours)
    keyed = sorted((draw.random(), place) for place in range(n))
    runs = [_run(kind.runs, (place + 0.5) / n) for _, place in keyed]
    found, done, total, month = [], 0.0, sum(colours), 0
    end = MONTH_SHARES[0] / 100 * total
    for plates, run in zip(colours, runs, strict=True):
        while done + plates / 2 > end and month < 11:
            month += 1
            end += MONTH_SHARES[month] / 100 * total
        done += plates
        many = plates >= 4
        found.append(
            Form(
                size,
                plates,
                run,
                month,
                draw.random() < kind.uncoated,
                draw.random() < kind.fine and many,
                draw.random() < kind.tight and many,
            )
        )
    return found


def _pick(draw: random.Random, shares: dict[int, float]) -> int:
    at, drawn = 0.0, draw.random()
    for value, share in shares.items():
        at += share
        if drawn < at:
            return value
    return max(shares)


def _run(at: tuple[tuple[float, int], ...], share: float) -> int:
    for (low, few), (high, many) in pairwise(at):
        if share <= high:
            part = (share - low) / (high - low)
            return round(exp(log(few) + part * (log(many) - log(few))) / 10) * 10
    raise AssertionError(share)


def main() -> None:
    target = Path(__file__).with_name("shop.toml")
    before, rest = target.read_text("utf-8").split(BEGIN)
    after = rest.split(END)[1]
    target.write_bytes((before + BEGIN + summary_text() + END + after).encode("utf-8"))
    forms = make_forms()
    print(f"{target.name}: {len(forms):,} forms, {sum(f.plates for f in forms) / 12:,.0f} plates a month")


if __name__ == "__main__":
    main()
