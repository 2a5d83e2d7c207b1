"""Whether each method keeps up with the day's plates, in words, and what the chart of it draws.

Days are a year's, plates a day's in year 1, counted as called for.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Axis, Expr, at, at_least, gather, larger, largest, opposite, total
from roi.engine.words import Choice, Number, Sentence, Words
from roi.model.sheet import MethodSheet
from roi.model.study import Study

NOTHING = "makes no plates here: there is nothing to keep up with."


@dataclass(frozen=True)
class Keeping:
    """What the Capacity sheet shows beside the methods' own lines.

    making : methods with stations, by id;  wanted : plates a day by load
    mark_x, mark_y : two points of the upright line at the busy day;  sentences : a method each, by id
    title : the chart's, None where no method makes plates
    """

    making: dict[str, MethodSheet]
    wanted: Line
    mark_x: Line
    mark_y: Line
    by_method: dict[str, Sentence]
    title: Sentence | None

    @property
    def sentences(self) -> list[Sentence]:
        """Every sentence, in the order in which they are written down."""
        return [*self.by_method.values(), *([self.title] if self.title else [])]


def keeping_up(study: Study, column: Column) -> Keeping:
    """Add to a column the lines that the sentences speak of, and build the sentences."""
    making = {name: sheet for name, sheet in study.methods.items() if "capacity.available" in sheet.lines}
    column.heading("Figures about keeping up")
    work = study.work
    wanted = column.line(
        "Plates wanted a day in year 1", "plate/day", work.load_plates * at(study.shop.volume, 1)
    )
    ways = Axis("ways of making plates here", tuple(sheet.method.short for sheet in making.values()))
    top: Expr = largest(wanted)
    if making:
        able = [sheet.lines["capacity.can"] for sheet in making.values()]
        top = larger(top, largest(column.line("Plates a day it can make", "plate/day", gather(ways, able))))
    highest = column.line("Most plates on the chart", "plate/day", top)
    busy_at = at(work.load_days_so_far, work.loads.busy)
    ends = Axis("ends of the busy day's mark", ("bottom", "top"))
    mark_x = column.line("Busy day, days up to it", "day/year", gather(ends, [busy_at, busy_at]))
    mark_y = column.line("Busy day, plates", "plate/day", gather(ends, [highest * 0, highest]))
    by_method: dict[str, Sentence] = {}
    fitting: list[Line] = []
    for name, sheet in study.methods.items():
        if name in making:
            by_method[name], fits = _sentence(sheet, column)
            fitting.append(fits)
        else:
            by_method[name] = Sentence(_label(sheet), (Words(f"{sheet.method.short} {NOTHING}"),))
    title = None
    if making:
        kept = column.line("Makes the busiest day's plates within the shift", "1", gather(ways, fitting))
        count = column.line("Ways that make the busiest day's plates within the shift", "1", total(kept))
        after = f" of {len(making)} ways make the busiest day's plates within the shift"
        title = Sentence("Plates a day against what can be made", (Number(count, 0, "", after),))
    return Keeping(making, wanted, mark_x, mark_y, by_method, title)


def _label(sheet: MethodSheet) -> str:
    return f"{sheet.method.short}, keeping up"


def _sentence(sheet: MethodSheet, column: Column) -> tuple[Sentence, Line]:
    """What is said of a method, and the flag that its busiest day fits into the shift."""
    short, own = sheet.method.short, {k.removeprefix("capacity."): v for k, v in sheet.lines.items()}

    def flag(label: str, body: Expr) -> Line:
        return column.line(f"{short}, {label}", "1", body)

    never, fits = own["never"], own["fits"]
    within = flag("fits into the shift", fits * own["some"])
    idle = flag("makes none of this work", opposite(own["some"]))
    endless = flag("goes over the day", never)
    over = flag("goes over the shift", opposite(fits) * opposite(never))
    beyond = flag("busiest day is told", opposite(fits))
    behind = flag("falls behind early", within * opposite(at_least(1, own["early_use"])))
    typical = column.line(f"{short}, typical day in per cent of the shift", "1", own["use.typical"] * 100)
    busy = column.line(f"{short}, busy day in per cent of the shift", "1", own["use.busy"] * 100)
    too_much = Choice(
        endless,
        "can't do this work even around the clock:",
        Choice(over, "can't make the busiest day's plates within the shift:"),
    )
    # A piece that is absent is a space: what follows one begins without.
    sentence = Sentence(
        _label(sheet),
        (
            Words(f"{short} "),
            Choice(own["tight"], "is tight:", "keeps up:"),
            Number(busy, 0, " ", " % of the shift on a busy day."),
            Choice(behind, " In the first two hours of a busy day it falls behind."),
        ),
        told=within,
        otherwise=(
            Choice(idle, f"{short} makes none of this work.", f"{short} "),
            too_much,
            Number(own["worst_plates"], 0, " ", " plates are wanted on the busiest day,", beyond),
            Number(own["worst_can"], 0, " ", " can be made.", over),
            Number(own["worst_hours"], 0, "which take ", " hours. ", endless),
            Number(typical, 0, "A typical day takes ", " % of the shift.", beyond),
        ),
    )
    return sentence, within


def told(study: Study, values: Values) -> list[str]:
    """Whether each method keeps up, a sentence a method, with computed values."""
    column = Column("Words", "words")
    found = keeping_up(study, column)
    known = extend(values, [column])
    return [sentence.say(known) for sentence in found.by_method.values()]


__all__ = ["Keeping", "keeping_up", "told"]
