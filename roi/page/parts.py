"""Parts that the charts share: axes with their unit, lines, fills, legends.

Lines differ in dash and marker, parts of bars in outline and hatching, so that colour is never the only cue.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from roi.page.drawing import SMALL, WIDTH, fitted
from roi.page.voice import Voice
from roi.workbook.house import House

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

_DASHES: tuple[Any, ...] = (
    "-",
    (0, (5, 2)),
    (0, (1.2, 1.6)),
    (0, (7, 2, 1.5, 2)),
    (0, (3, 1.5)),
    (0, (9, 3)),
)
_MARKERS = "os^DXP"
_HATCHES = ("", "////", "", "\\\\\\\\", "", "xxxx")
_LABEL = WIDTH - 0.9  # inches: what the numbers beside the axes leave for their labels
_NAME = 24  # letters of a name on one line of a legend of two columns


def axes_of(figure: Figure, voice: Voice, along: str, up: str = "", *, grid: str = "y") -> Axes:
    """Axes with whole numbers along both: `along` stands below, `up` on top at the left, each with its unit."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    axes = figure.add_subplot()
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
        axis.set_major_formatter(FuncFormatter(lambda value, _: _tick(voice, value)))
    below, above = (fitted(voice.say(text), SMALL, _LABEL) for text in (along, up))
    axes.set_xlabel("\n".join(below))
    if up:
        axes.set_title("\n".join(above), loc="left", pad=6)
    more = max(len(below) - 1, 0) + max(len(above) - 1, 0)
    figure.set_figheight(figure.get_figheight() + more * SMALL * 1.3 / 72)
    axes.grid(True, axis=grid)  # type: ignore[arg-type]
    return axes


def _tick(voice: Voice, value: float) -> str:
    return voice.number(value, 0 if abs(value - round(value)) < 1e-9 else 1)


def line(
    axes: Axes, house: House, i: int, along: Sequence[float], up: Sequence[float], every: int = 1
) -> Line2D:
    """The line number `i`, counted from 0, with a marker at every so many points."""
    (drawn,) = axes.plot(
        along, up, color=f"#{house.series[i]}", linestyle=_DASHES[i], marker=_MARKERS[i], markersize=4.5, linewidth=1.6,
        markevery=every,
    )  # fmt: skip
    return drawn


def fill(house: House, i: int) -> dict[str, Any]:
    """How the part number `i` of bars is filled, as arguments: a colour, white hatching on it, and an outline."""
    return {
        "facecolor": f"#{house.series[i]}",
        "edgecolor": "#FFFFFF",
        "hatch": _HATCHES[i],
        "linewidth": 0.4,
    }


def patch(house: House, i: int) -> Artist:
    """What stands for the part number `i` in a legend."""
    from matplotlib.patches import Patch

    return Patch(**fill(house, i))


def legend(figure: Figure, handles: Sequence[Artist], names: Sequence[str], columns: int = 2) -> None:
    """Below the axes; a long name goes on in the next line."""
    told = ["\n".join(textwrap.wrap(name, _NAME)) for name in names]
    found = figure.legend(
        list(handles), [""] * len(told), loc="outside lower left", ncols=columns, columnspacing=1.2
    )
    # Set afterwards: a name that begins with an underscore would be left out.
    for text, name in zip(found.get_texts(), told, strict=True):
        text.set_text(name)


__all__ = ["axes_of", "fill", "legend", "line", "patch"]
