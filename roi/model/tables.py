"""The year's work as data an engine column can refer to: the contents of the Work sheet.

Fixed when written; amounts are a year's, before growth.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from roi.engine.expression import Axis, Data
from roi.model.loads import Loads, load_levels
from roi.model.reduce import Reduced, reduce_work
from roi.scenario.scenario import Scenario
from roi.scenario.worklog import DAYS_PER_YEAR, Floats

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


@dataclass(frozen=True)
class Table:
    """Rows of an axis with columns of data side by side."""

    title: str
    note: str
    axis: Axis
    columns: tuple[Data, ...]


@dataclass(frozen=True)
class WorkTables:
    """The reduced work as data, by name; every tuple runs over sizes, presses, methods or colours as its name says."""

    classes: Axis
    bins: Axis
    sizes: Axis
    presses: Axis
    uncoated: Data
    tight: Data
    uv: Data
    abrasive: Data
    confined: Data
    ruling: Data
    serves: dict[str, Data]
    forms: Data
    rush_forms: Data
    reprint_plates: tuple[Data, ...]
    bin_class: Data
    good: Data
    bin_forms: Data
    colours: tuple[Data, ...]
    plates: tuple[Data, ...]
    press_plates: tuple[Data, ...]
    tight_plates: tuple[Data, ...]
    passes: tuple[Data, ...]
    bin_rush: Data
    bin_reprint_plates: tuple[Data, ...]
    bin_press_forms: tuple[Data, ...]
    bin_press_impressions: tuple[Data, ...]
    area: Data
    press_impressions: Data
    press_forms: tuple[Data, ...]
    month_share: Data
    totals: Data
    loads: Loads
    load_days: Data
    load_days_so_far: Data
    load_plates: Data
    load_area: Data
    tables: tuple[Table, ...]
    reduced: Reduced


def work_tables(scenario: Scenario, part: NDArray[np.intp] | None = None) -> WorkTables:
    """Reduce the work and lay it out as data; forms of different parts, a number a row of the work, stay apart."""
    r = reduce_work(scenario, part)
    classes = Axis("classes", tuple(f"Class {i + 1}: {_describe(r, i)}" for i in range(len(r.ruling))))
    bins = Axis(
        "bins",
        tuple(
            f"Bin {i}, class {c}, about {g:,.0f} impressions"
            for i, (c, g) in enumerate(zip(r.bin_class, r.good, strict=True), 1)
        ),
    )
    sizes = Axis("sizes", tuple(s.label for s in scenario.sizes))
    presses = Axis("presses", tuple(p.label for p in scenario.presses))
    months = Axis("months", MONTHS)
    loads = load_levels(scenario)
    levels = Axis("levels of load", _level_names(loads))
    all_work = Axis("all work", ("Jobs", "Good impressions of all forms", "Calendar days", "Weeks"))

    def data(
        label: str, unit: str, axis: Axis, values: Sequence[float] | Floats, *, flag: bool = False
    ) -> Data:
        return Data(f"work.{axis.name}.{label}", label, unit, axis, list(values), flag=flag)

    def flags(label: str, values: Floats) -> Data:
        return data(label, "1", classes, values, flag=True)

    def per_size(label: str, axis: Axis, values: Floats) -> tuple[Data, ...]:
        return tuple(
            data(f"{label}, {s.label}", "plate/year", axis, values[:, i])
            for i, s in enumerate(scenario.sizes)
        )

    def per_press(label: str, unit: str, values: Floats) -> tuple[Data, ...]:
        return tuple(
            data(f"{label}, {p.label}", unit, bins, values[:, i]) for i, p in enumerate(scenario.presses)
        )

    colours = ("one colour", "two colours", "three colours and more")
    t = WorkTables(
        classes=classes,
        bins=bins,
        sizes=sizes,
        presses=presses,
        uncoated=flags("Uncoated stock", r.uncoated),
        tight=flags("Tight four-colour register", r.tight),
        uv=flags("UV ink", r.uv),
        abrasive=flags("Envelope, abrasive or metallic", r.abrasive),
        confined=flags("Must not leave the building", r.confined),
        ruling=data("Screen ruling (0 where unknown)", "lpi", classes, r.ruling),
        serves={
            m.id: flags(f"{m.short} can make it (format, flags)", r.serves[i])
            for i, m in enumerate(scenario.methods)
        },
        forms=data("Forms", "form/year", classes, r.forms),
        rush_forms=data("Rush forms", "form/year", classes, r.rush_forms),
        reprint_plates=per_size("Reprint plates", classes, r.reprint_plates),
        bin_class=data("Class", "1", bins, r.bin_class.astype(float)),
        good=data("Good impressions a form", "impression", bins, r.good),
        bin_forms=data("Forms", "form/year", bins, r.bin_forms),
        colours=tuple(data(f"Share in {c}", "1", bins, r.colours[:, i]) for i, c in enumerate(colours)),
        plates=per_size("Plates", bins, r.plates),
        press_plates=per_press("Plates", "plate/year", r.press_plates),
        tight_plates=per_press("Tight plates", "plate/year", r.tight_plates),
        passes=per_press("Passes", "pass/year", r.passes),
        bin_rush=data("Rush forms", "form/year", bins, r.bin_rush),
        bin_reprint_plates=per_size("Reprint plates", bins, r.bin_reprint_plates),
        bin_press_forms=per_press("Forms", "form/year", r.bin_press_forms),
        bin_press_impressions=per_press(
            "Good impressions, every pass", "impression/year", r.bin_press_impressions
        ),
        area=data("Area of a plate", "m2/plate", sizes, [s.area for s in scenario.sizes]),
        press_impressions=data(
            "Good impressions, every pass", "impression/year", presses, r.press_impressions
        ),
        press_forms=tuple(
            data(f"Forms in {c}", "form/year", presses, r.press_forms[:, i]) for i, c in enumerate(colours)
        ),
        month_share=data("Share of a year's plates", "1", months, scenario.work.month_share),
        totals=data("Amount", "1/year", all_work, [r.jobs, r.good_total, DAYS_PER_YEAR, DAYS_PER_YEAR / 7]),
        loads=loads,
        load_days=data("Days", "day/year", levels, loads.days),
        load_days_so_far=data("Days up to here", "day/year", levels, loads.days.cumsum()),
        load_plates=data("Plates called for a day", "plate/day", levels, loads.plates),
        load_area=data("Area called for a day", "m2/day", levels, loads.area),
        tables=(),
        reduced=r,
    )
    elsewhere = any(scenario.has("methods", m.id, "elsewhere", "up_to") for m in scenario.methods)
    elsewhere |= scenario.plain("shop", "count_switches", default=False) is True
    return replace(t, tables=tuple(_layout(t, months, all_work, elsewhere)))


def _layout(t: WorkTables, months: Axis, all_work: Axis, elsewhere: bool) -> Iterable[Table]:
    # What only a method that prints short runs elsewhere asks for, or the counting of switches between kinds of plates.
    short_runs = (t.bin_rush, *t.bin_reprint_plates, *t.bin_press_forms, *t.bin_press_impressions)
    flags = (t.uncoated, t.tight, t.uv, t.abrasive, t.confined)
    yield Table(
        "Classes of forms",
        "Forms alike in stock, flags, ruling and in which methods can serve them.",
        t.classes,
        (*flags, t.ruling, *t.serves.values(), t.forms, t.rush_forms, *t.reprint_plates),
    )
    yield Table(
        "Run bins",
        "Forms of one class between two neighbouring whole multiples of the plate lives: "
        "all of them take the same number of sets.",
        t.bins,
        (
            t.bin_class,
            t.good,
            t.bin_forms,
            *t.colours,
            *t.plates,
            *t.press_plates,
            *t.tight_plates,
            *t.passes,
            *(short_runs if elsewhere else ()),
        ),
    )
    yield Table("Plate sizes", "Sides as stated, turned into square metres.", t.sizes, (t.area,))
    yield Table(
        "Presses", "What runs through each press in a year.", t.presses, (t.press_impressions, *t.press_forms)
    )
    yield Table("Months", "How the plates of a year fall on its months.", months, (t.month_share,))
    yield Table(
        "Days by load",
        f"Working days from quiet to busy, by {t.loads.basis}.",
        t.load_days.axis or months,
        (t.load_days, t.load_days_so_far, t.load_plates, t.load_area),
    )
    yield Table("All work", "Counts that belong to no size and no press.", all_work, (t.totals,))


def _level_names(loads: Loads) -> tuple[str, ...]:
    """Each level's number, and which of them is the typical, the busy and the busiest day."""
    named = {loads.typical: ["typical day"]}
    named.setdefault(loads.busy, []).append("busy day")
    named.setdefault(len(loads.days) - 1, []).append("busiest day")
    return tuple(
        f"Level {i + 1}" + (f", {' and '.join(named[i])}" if i in named else "")
        for i in range(len(loads.days))
    )


def _describe(r: Reduced, i: int) -> str:
    words = ["uncoated" if r.uncoated[i] else "coated"]
    flags = (
        ("tight register", r.tight),
        ("UV", r.uv),
        ("envelope or abrasive", r.abrasive),
        ("stays in the building", r.confined),
    )
    words += [name for name, flag in flags if flag[i]]
    words.append(f"{r.ruling[i]:g} lpi" if r.ruling[i] else "ruling unknown")
    return ", ".join(words)
