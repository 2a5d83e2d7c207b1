"""How large letters may be so that the page prints on one sheet of A4 and of Letter: an estimate, on the careful side.

The sheet reckoned with is as narrow as A4 and as low as Letter. Lengths are points; heights of lines and gaps are those of
the printed page in `brief.css`, in letters' sizes. A browser sets letters a little otherwise, so room is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil

from roi.page.content import Content
from roi.page.drawing import SMALLER, Chart

WIDTH, HEIGHT = 595 - 2 * 31.2, 792 - 2 * 25.6  # points, within the margins that the page states
SIZES = tuple(size / 4 for size in range(36, 21, -1))  # points: 9 down to 5.5
CHARTS = tuple(float(high) for high in range(150, 300, 10))  # points that charts may be high
_LETTER = 0.51  # width of a letter on average, in its size: wider than most fonts have it
_LINE, _SMALL, _CAUTION = 1.28, 0.8, 0.8  # height of a line; sizes of notes and of cautions, in letters' size


def letters_and_charts(title: str, told: Content, charts: Iterable[Chart]) -> tuple[float, float]:
    """The size of letters and how high charts may be, points: of what fits, that whose smallest letters are largest."""
    drawn = list(charts)

    def smallest(size: float, high: float) -> float:
        half = _half(size)
        scales = [
            min(half / wide, high / tall) for wide, tall in (c.figure.get_size_inches() * 72 for c in drawn)
        ]
        return min([_SMALL * size, *(SMALLER * scale for scale in scales)])

    pairs = [(size, high) for size in SIZES for high in CHARTS]
    fitting = [pair for pair in pairs if height(title, told, drawn, *pair) <= HEIGHT]
    return max(fitting, key=lambda pair: (smallest(*pair), *pair), default=(SIZES[-1], CHARTS[0]))


def _half(size: float) -> float:
    """How wide a chart, or one of two columns, is."""
    return (WIDTH - 1.4 * size) / 2


def height(title: str, told: Content, charts: Sequence[Chart], size: float, high: float) -> float:
    """How high the page prints with letters of a size, charts at most so high; points."""

    def lines(text: str, width: float, scale: float = 1.0) -> int:
        return max(ceil(len(text) * _LETTER * size * scale / width), 1)

    def texts(found: Iterable[str], width: float, scale: float = 1.0, gap: float = 0.0) -> float:
        return sum(lines(text, width, scale) * _LINE * size * scale + gap * size for text in found)

    half = _half(size)
    head = (0.65 + 0.8) * size + 1.4 * 1.2 * size * lines(title, WIDTH, 1.4) + 2 * _SMALL * _LINE * size
    answer = 0.8 * size + 1.7 * size + 1.5 * size * lines(told.verdict, WIDTH - 2 * size, 1.15)
    answer += texts(told.said, WIDTH - 3 * size)
    answer += texts((f"{question}: {words}" for question, words in told.dangers), WIDTH - 3 * size)
    rows = sum((_LINE + 0.24) * size + 1 for _ in told.rows)
    table = 1.7 * size + (2 * 1.2 * 0.82 + 0.24) * size + rows + texts(told.notes, WIDTH, _SMALL, 0.35)
    figures = 0.0
    for chart in charts:
        wide, tall = chart.figure.get_size_inches()
        drawn = min(half * tall / wide, high)
        figures = max(
            figures, drawn + 1.3 * size * lines(chart.title, half) + (0.3 + 3 * _SMALL * _LINE) * size
        )
    small = 0.88
    left = 1.6 * size + texts(["; ".join(told.defaults) + " " * 25], half, small)
    left += texts([". ".join(told.rests)], half, _SMALL, 0.35)
    right = 1.6 * size + texts([f"{what}: {mend}." for what, mend in told.mistakes], half - size, small)
    right += _LINE * size if told.more_mistakes else 0.0
    rest = 1.7 * size + max(left, right)
    third = (WIDTH - 2.4 * size) / 3
    words = sum(
        lines(f"{m} {text}", third, _CAUTION) * 1.2 * _CAUTION * size + 0.2 * size
        for m, text in told.cautions
    )
    cautions = 1.7 * size + words / 3 + 1.2 * size
    foot = 0.7 * size + 2 * _SMALL * _LINE * size
    return head + answer + table + 1.7 * size + figures + rest + cautions + foot + 4 * 0.6 * size


__all__ = ["CHARTS", "HEIGHT", "SIZES", "WIDTH", "height", "letters_and_charts"]
