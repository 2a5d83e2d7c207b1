"""Whether each method keeps up with the day's plates, in words, and what the chart of it draws.

Days are a year's, plates a day's in year 1, counted as called for.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Axis, Constant, Expr
from roi.engine.operations import at, at_least, gather, larger, largest, opposite, pick, total
from roi.engine.words import Choice, Name, Number, Piece, Sentence, Words
from roi.model.overtime import is_counted
from roi.model.sheet import MethodSheet
from roi.model.study import Study
from roi.units.unit import Unit

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
    ways = Axis(
        "ways of making plates here", tuple(sheet.method.short for sheet in making.values()), as_written=True
    )
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


def cheapest_keeps_up(study: Study, column: Column, possible: Line) -> Sentence:
    """Said only where the cheapest method's line is tight on a busy day, or can't make the busiest day's plates.

    possible : 1 where some method can do the work; lines are added to `column`
    """
    rows, code = study.comparison.rows, study.scenario.currency
    at_all = rows["cheapest_at"]

    def of_cheapest(label: str, unit: str, key: str) -> Line:
        nothing = Constant(0, Unit.read(unit))
        each = [sheet.lines.get(f"capacity.{key}", nothing) for sheet in study.methods.values()]
        block = column.line(f"{label}, by method", unit, gather(study.comparison.methods, each))
        return column.line(f"{label}, cheapest", unit, pick(block, at_all))

    def flag(label: str, body: Expr) -> Line:
        return column.line(f"The cheapest {label}", "1", body)

    def is_one(label: str, key: str) -> Expr:
        return at_least(of_cheapest(label, "1", key), 1)

    fits = is_one("The busiest day fits into the shift", "fits")
    made_here = is_one("Makes plates of this work", "some")
    endless = flag("goes over the day", is_one("Goes over the day", "never") * possible)
    beyond = flag("does not fit into the shift", opposite(fits) * made_here * possible)
    over = flag("goes over the shift, not the day", beyond * opposite(endless))
    tight = flag("is tight", is_one("Tight on the busy day", "tight") * fits * possible)
    warned = flag("is warned of", opposite(opposite(beyond) * opposite(tight)))
    busy = column.line(
        "Cheapest, busy day in per cent of the shift", "1", of_cheapest("Busy day", "1", "use.busy") * 100
    )
    overtime = of_cheapest("Overtime", "currency/year", "overtime")
    if is_counted(study.scenario):
        and_overtime: Piece = Choice(over, " Overtime, or further units, is in these costs.")
    else:
        and_overtime = Number(overtime, 0, f" Overtime of {code} ", " a year is not in these costs.", over)
    return Sentence(
        "Keeping up",
        (
            Name(rows["present"], at_all, warned),
            Choice(endless, " can't make the busiest day's plates even around the clock:",
                   Choice(over, " can't make the busiest day's plates within the shift:")),
            Choice(tight, " is tight:"),
            Number(of_cheapest("Wanted on the busiest day", "plate/day", "worst_plates"), 0, " ", " are wanted;", beyond),
            Number(of_cheapest("Made on the busiest day", "plate/day", "worst_can"), 0, " ", " can be made.", over),
            Number(of_cheapest("Hours of the busiest day", "h/day", "worst_hours"), 0, " they take ",
                   " hours, and it is costed as if it could.", endless),
            Number(busy, 0, " ", " % of the shift on a busy day.", tight),
            and_overtime,
        ),
    )  # fmt: skip


def told(study: Study, values: Values) -> list[str]:
    """Whether each method keeps up, a sentence a method, with computed values."""
    column = Column("Words", "words")
    found = keeping_up(study, column)
    known = extend(values, [column])
    return [sentence.say(known) for sentence in found.by_method.values()]


__all__ = ["Keeping", "cheapest_keeps_up", "keeping_up", "told"]
