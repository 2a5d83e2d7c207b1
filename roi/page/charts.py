"""The two charts of a page: cost against volume, and the lead with each input at both ends of its range.

Money in the scenario's currency a year, in cash, after tax. Every figure drawn comes from the answers; here is only where it
stands on paper, and what it says in words.
"""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from roi.answers.breakeven import inside
from roi.answers.searched import told
from roi.answers.sensitivity import Outcome, Sensitivity, Tried
from roi.engine.words import fixed
from roi.model.study import Study
from roi.page.curves import MOST, Curves, Mark
from roi.page.drawing import SMALLER, Chart, blank, style
from roi.page.parts import axes_of, fill, legend, line, patch
from roi.page.voice import ENGLISH, Voice
from roi.workbook.house import House
from roi.workbook.palette import tint

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BARS = 6  # inputs in the chart
_ABOVE = (
    1.6  # times the second cheapest: a dearer line leaves the chart at the top, so that crossings can be seen
)
_ACROSS = 60  # letters across the chart
_GROUND = {"facecolor": "white", "edgecolor": "none", "pad": 0.3, "alpha": 0.85}  # behind letters on a line
_OPAQUE = {**_GROUND, "pad": 0.6, "alpha": 1.0}  # behind letters across which lines of the grid would run
# Units that are words: more than one takes an s.
_COUNTED = ("year", "month", "day", "impression", "plate", "sheet")
_BAR, _LINE, _GAP = 0.24, 0.44, 0.16  # heights of a bar, a line of letters, a gap


def break_even_chart(study: Study, found: Curves, house: House, voice: Voice = ENGLISH) -> Chart:
    """Cost against volume, with the shop's own volume and every crossing marked, in bold where the cheapest of all changes."""
    code, ink = study.scenario.currency, f"#{house.ink}"
    with style(house):
        figure = blank(3.3)
        axes = axes_of(figure, voice, "plates a month", f"{code} a year, in cash, after tax")
        every = max(len(found.volumes) // 5, 1)
        lines = [line(axes, house, i, c.volumes, c.costs, every) for i, c in enumerate(found.curves)]
        first, last = found.volumes[0], found.volumes[-1]
        axes.set_xlim(first - 0.02 * (last - first), last + 0.02 * (last - first))
        top = min(axes.get_ylim()[1], _ABOVE * _second(found))
        bottom = min(0.0, *(cost for curve in found.curves for cost in curve.costs))
        axes.set_ylim(bottom, top if top > bottom else bottom + 1)
        axes.axvline(found.own, color=ink, linewidth=1, linestyle=(0, (1, 2)), zorder=1)
        right = found.own < (first + last) / 2
        axes.annotate(
            f"{voice.say('the shop')}: {voice.number(found.own, found.places)}",
            (found.own, axes.get_ylim()[0]), (4 if right else -4, 3), textcoords="offset points",
            ha="left" if right else "right", va="bottom", fontsize=SMALLER, zorder=6, bbox=_GROUND,
        )  # fmt: skip
        for mark in found.marks:
            axes.plot(
                [mark.at], [mark.cost], marker="o", markersize=6.5 if mark.decides else 5, markeredgecolor=ink,
                markerfacecolor=ink if mark.decides else "none", linestyle="none", zorder=5,
            )  # fmt: skip
        for mark in _told(found):
            axes.annotate(
                voice.number(mark.at, found.places), (mark.at, mark.cost), (3, -5), textcoords="offset points",
                ha="left", va="top", fontsize=SMALLER, fontweight="bold" if mark.decides else "normal", zorder=6, bbox=_GROUND,
            )  # fmt: skip
        legend(figure, lines, [voice.say(curve.short) for curve in found.curves])
    return Chart("break-even", found.title, _of_curves(found, code, voice), figure, house)


def _told(found: Curves) -> list[Mark]:
    """The marks that have room for their volume beside them, those first at which the cheapest of all changes."""
    apart = 0.11 * (found.volumes[-1] - found.volumes[0])
    told: list[Mark] = []
    for mark in sorted(found.marks, key=lambda mark: (not mark.decides, mark.at)):
        if all(abs(mark.at - other.at) >= apart for other in told):
            told.append(mark)
    return told


def _second(found: Curves) -> float:
    """The most that the second cheapest of those drawn costs at any volume, or the only one."""
    return max(
        sorted(costs)[:2][-1] for costs in zip(*(curve.looked_at for curve in found.curves), strict=True)
    )


def _of_curves(found: Curves, code: str, voice: Voice) -> str:
    first, last = (fixed(found.volumes[i], found.places) for i in (0, -1))
    said = [
        f"Lines of what each method costs a year against plates a month; the shop's own are {fixed(found.own, found.places)}."
    ]
    said += [
        f"{c.short}: {code} {fixed(c.looked_at[0], 0)} at {first} plates a month, {fixed(c.looked_at[-1], 0)} at {last}."
        for c in found.curves
    ]
    if found.able > len(found.curves):
        said.append(f"Drawn are the {MOST} cheapest of {found.able} methods.")
    return " ".join([*map(voice.say, said), *found.said])


def sensitivity_chart(study: Study, found: Sensitivity, house: House, voice: Voice = ENGLISH) -> Chart | None:
    """The lead of the cheapest method with each input at its low and its high; None where nothing moves it."""
    if not found.inputs or found.best.lead is None or found.best.cheapest is None:
        return None
    return _Bars(study, found, found.best.cheapest, found.best.lead, house, voice).chart()


class _Bars:
    def __init__(
        self, study: Study, found: Sensitivity, best: str, lead: float, house: House, voice: Voice
    ) -> None:
        self.study, self.found, self.best, self.lead, self.house = study, found, best, lead, house
        self.stated = {stated.key: stated for stated in study.scenario.inputs.values()}
        self.shown, self.voice = found.inputs[:BARS], voice

    def chart(self) -> Chart:
        found, house = self.found, self.house
        code, turned, voice = self.study.scenario.currency, house.series[2], self.voice
        labels = [textwrap.wrap(voice.say(self._range(tried)), _ACROSS)[:2] for tried in self.shown]
        height = sum(_LINE * len(label) + 2 * _BAR + _GAP for label in labels)
        with style(house):
            figure = blank(0.9 + 0.36 * height)
            axes = axes_of(
                figure,
                voice,
                f"lead of {inside(self._short(self.best))}, {code} a year, in cash, after tax",
                grid="x",
            )
            axes.spines["left"].set_visible(False)
            least, most = found.span
            room = max(most - least, 1.0) * 0.03
            axes.set_xlim(least - room, most + room)
            axes.set_ylim(height, 0)
            axes.set_yticks([])
            y = 0.0
            for tried, label in zip(self.shown, labels, strict=True):
                axes.annotate(
                    "\n".join(label), (0, y), xycoords=("axes fraction", "data"), va="top", fontsize=SMALLER, zorder=6,
                    bbox=_OPAQUE,
                )  # fmt: skip
                y += _LINE * len(label) + 0.04
                for i, end in enumerate((tried.at_low, tried.at_high)):
                    self._bar(axes, end, y + _BAR * i, i)
                y += 2 * _BAR + _GAP - 0.04
            axes.axvline(self.lead, color=f"#{house.ink}", linewidth=1, zorder=4)
            handles = [patch(house, 0), patch(house, 1)]
            names = [voice.say(f"input at its {end}") for end in ("low", "high")]
            if found.passes_nought:
                shade = axes.axvspan(least - room, 0, facecolor=f"#{tint(turned)}", zorder=0, linewidth=0)
                axes.axvline(0, color=f"#{turned}", linewidth=1.2, linestyle=(0, (4, 2)), zorder=3)
                handles.append(shade)
                names.append(voice.say("another is the cheapest"))
            legend(figure, handles, names)
        return Chart("sensitivity", voice.say(found.title), self._text(), figure, house)

    def _short(self, method: str) -> str:
        return self.study.methods[method].method.short

    def _range(self, tried: Tried) -> str:
        stated = self.stated[tried.key]
        low = (
            told(stated, tried.low).removesuffix(stated.shown).strip()
            if stated.shown
            else told(stated, tried.low)
        )
        many = "s" if stated.shown in _COUNTED and tried.high != 1 else ""
        return f"{tried.label}: {low} to {told(stated, tried.high)}{many}"

    def _bar(self, axes: Axes, end: Outcome, y: float, i: int) -> None:
        """From the lead at best to that at one end of the input's range; words where there is none."""
        if end.lead is None:
            axes.annotate(
                self.voice.say(self._without(end)), (self.lead, y + _BAR / 2), (4, 0), textcoords="offset points", va="center",
                fontsize=SMALLER, zorder=6,
            )  # fmt: skip
            return
        axes.barh(
            y + _BAR / 2, end.lead - self.lead, _BAR * 0.9, left=self.lead, zorder=2, **fill(self.house, i)
        )

    def _without(self, end: Outcome) -> str:
        if end.cheapest is None:
            return "no method can do the work"
        return (
            "no other can do the work"
            if end.cheapest == self.best
            else f"{self._short(self.best)} can't do the work"
        )

    def _text(self) -> str:
        code = self.study.scenario.currency
        said = [
            f"Bars of the lead of {inside(self._short(self.best))} over the best of the others, {code} a year: "
            f"{fixed(self.lead, 0)} with every input at its best."
        ]
        for tried in self.shown:
            low, high = (
                self._without(end) if end.lead is None else fixed(end.lead, 0)
                for end in (tried.at_low, tried.at_high)
            )
            said.append(f"{self._range(tried)}: {low} at its low, {high} at its high.")
        return " ".join(map(self.voice.say, [*said, *self.found.sentences]))


__all__ = ["BARS", "break_even_chart", "sensitivity_chart"]
