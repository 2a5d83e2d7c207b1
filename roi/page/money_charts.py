"""Two more charts, for files: what each method has cost so far, year by year, and its running cost by family.

Money in the scenario's currency: present cost after tax in cash; running costs of year 1 before tax. A family below nothing,
such as a waste that earns a credit, stands to the left of nought.
"""

from __future__ import annotations

from roi.answers.compare import horizon, one
from roi.answers.verdict import verdict
from roi.engine.evaluate import Values, extend
from roi.model.comparison import FAMILIES
from roi.model.study import Study
from roi.page.curves import MOST
from roi.page.drawing import SMALLER, Chart, blank, style
from roi.page.parts import axes_of, fill, legend, line, patch
from roi.page.voice import Voice
from roi.workbook.house import House

_BAR, _LINE = 0.5, 0.36  # heights of a bar and of the line of letters above it


def money_charts(study: Study, values: Values, house: House, voice: Voice) -> list[Chart]:
    """Cumulative cost and cost by family; `values` are the study's lines at the best values."""
    column, said = verdict(study)
    known = extend(values, [column])
    titles = {sentence.label: voice.tell(sentence, known) for sentence in said}
    return [
        _cumulative(study, values, house, voice, titles["Cumulative cost"]),
        _families(study, values, house, voice, titles["Cost by family"]),
    ]


def _able(study: Study, values: Values) -> list[str]:
    """The methods that can do the work; of more than fit those with the least present cost, in the scenario's order."""
    rows, ids = study.comparison.rows, list(study.methods)
    able = [name for i, name in enumerate(ids) if one(values, rows["feasible"], i) >= 1]
    cheapest = sorted(able, key=lambda name: one(values, rows["present"], ids.index(name)))[:MOST]
    return [name for name in ids if name in cheapest]


def _cumulative(study: Study, values: Values, house: House, voice: Voice, title: str) -> Chart:
    code, years = study.scenario.currency, range(horizon(study, values) + 1)
    so_far = {
        name: [one(values, study.cash_flow.cumulative[name], year) for year in years]
        for name in _able(study, values)
    }
    shorts = [voice.say(study.methods[name].method.short) for name in so_far]
    with style(house):
        figure = blank(3.3)
        axes = axes_of(
            figure, voice, "years after the switch", f"Present cost so far, {code}, in cash, after tax"
        )
        lines = [line(axes, house, i, list(years), costs) for i, costs in enumerate(so_far.values())]
        axes.set_xlim(-0.02 * years[-1], 1.02 * years[-1])
        legend(figure, lines, shorts) if lines else None
    ends = [
        f"{short}: {voice.number(costs[-1])}." for short, costs in zip(shorts, so_far.values(), strict=True)
    ]
    about = f"Lines of what each method has cost so far in money of today, {code}, after {years[-1]} years."
    text = " ".join([voice.say(about), *ends])
    return Chart("cumulative-cost", title, text, figure, house)


def _families(study: Study, values: Values, house: House, voice: Voice, title: str) -> Chart:
    code, rows, ids = study.scenario.currency, study.comparison.rows, list(study.methods)
    names = _able(study, values)
    amounts = {
        name: [one(values, rows[f"family.{family}"], ids.index(name)) for family in FAMILIES]
        for name in names
    }
    labels = [voice.say(rows[f"family.{family}"].label) for family in FAMILIES]
    with style(house):
        figure = blank(1.5 + 0.42 * max(len(names), 1))
        axes = axes_of(figure, voice, f"{code} in year 1, before tax", grid="x")
        axes.spines["left"].set_visible(False)
        axes.set_yticks([])
        for row, name in enumerate(names):
            y = row * (_BAR + _LINE)
            axes.annotate(
                voice.say(study.methods[name].method.short), (0.01, y), xycoords=("axes fraction", "data"),
                va="top", fontsize=SMALLER,
            )  # fmt: skip
            ends = {True: 0.0, False: 0.0}
            for i, amount in enumerate(amounts[name]):
                axes.barh(
                    y + _LINE + _BAR / 2,
                    amount,
                    _BAR * 0.8,
                    left=ends[amount >= 0],
                    zorder=2,
                    **fill(house, i),
                )
                ends[amount >= 0] += amount
        axes.set_ylim(max(len(names), 1) * (_BAR + _LINE), 0)
        axes.margins(x=0.02)
        axes.axvline(0, color=f"#{house.ink}", linewidth=0.8, zorder=3)
        legend(figure, [patch(house, i) for i in range(len(FAMILIES))], labels)
    each = [
        f"{voice.say(study.methods[name].method.short)}: "
        + ", ".join(
            f"{label if voice.foreign else label.lower()} {voice.number(x)}"
            for label, x in zip(labels, amounts[name], strict=True)
        )
        + "."
        for name in names
    ]
    about = f"Bars of the running cost of year 1 by family, {code}, before tax."
    text = " ".join([voice.say(about), *each])
    return Chart("cost-by-family", title, text, figure, house)


__all__ = ["money_charts"]
