"""A budget's year in words: which calendar months it has, and the sentences that say what it costs. Currency, before tax."""

from __future__ import annotations

from roi.answers.budget_dates import Fiscal
from roi.answers.budget_months import AXIS, BudgetMonths
from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Constant, Data
from roi.engine.operations import absolute, at, at_least, largest, opposite, pick, position_of
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.study import Study

_ALIKE = Constant(1).during("currency")


def calendar(study: Study, months: BudgetMonths, fiscal: Fiscal) -> tuple[Column, Line, Line]:
    """Names of two years' months as headings over a line, and where the budget's twelve stand among them."""
    note = "Which calendar month each month of the budget is, from the month in which the shop's year begins."
    column = Column("Calendar", "calendar", across=True, note=note)
    january = Fiscal(fiscal.year, 1)
    axis = Axis("calendar months", tuple(january.month(i) for i in range(2 * len(AXIS))))
    column.heading("Months")
    count = column.data(
        Data("calendar.count", "Months counted from January", "1", axis, range(1, 2 * len(AXIS) + 1))
    )
    named = column.line("Month", "1", count + 0)
    column.heading("The budget's months", "Year 1 of the reckoning is this year.")
    position = column.line("Place among the months above", "1", months.place - 1 + study.shop.months.begins)
    return column, named, position


def words(
    study: Study, months: BudgetMonths, named: Line, position: Line, share: Line
) -> tuple[Column, list[Sentence]]:
    """The lines that the sentences speak of, and the sentences; `named` and `position` are those of `calendar`."""
    column = Column("Words", "words", note="Sentences on the Summary, built from the figures.")
    column.heading("Figures the sentences speak of")
    code = f"{study.scenario.currency} "
    staying, switching = months.plans
    ends = [
        column.line(words, "1", at(position, i) + 0)
        for words, i in (("First month", 0), ("Last month", len(AXIS) - 1))
    ]
    month = column.input(study.scenario.input("leaving", "month")).per("month")
    switch = column.line("Month of the switch", "1", pick(position, month + 1))
    paid = [
        column.line(f"{p.way.label}: cash of the year", "currency", p.cash[-1].year + 0) for p in months.plans
    ]
    charged = [
        column.line(f"{p.way.label}: profit and loss of the year", "currency", p.profit[-1].year + 0)
        for p in months.plans
    ]
    less = [
        column.line(f"{p.way.label}: cash of the year with less work", "currency", p.cash[-1].less + 0)
        for p in months.plans
    ]
    worst = [column.line(f"{p.way.label}: dearest month", "1", pick(position, p.worst)) for p in months.plans]
    # Within a unit of currency of their mean all months are told as alike.
    mean = [
        column.line(f"{p.way.label}: mean of the months", "currency", p.cash[-1].year / len(AXIS))
        for p in months.plans
    ]
    near = [m + _ALIKE for m in mean]
    even = [
        column.line(f"{p.way.label}: all months are alike", "1", at_least(most, p.worst_paid))
        for p, most in zip(months.plans, near, strict=True)
    ]
    uneven = [
        column.line(f"{p.way.label}: one month is dearest", "1", opposite(flag))
        for p, flag in zip(months.plans, even, strict=True)
    ]
    apart = column.line("Switching less staying, cash", "currency", paid[1] - paid[0])
    gap = column.line("Difference in cash", "currency", absolute(apart))
    more = column.line("Switching costs more", "1", at_least(apart, 0))
    deepest = column.line("Furthest that switching is behind staying", "currency", largest(months.cumulative))
    deep = column.line("Switching is behind staying", "1", opposite(at_least(0, deepest)))
    deep_at = column.line("Month of that", "1", pick(position, position_of(deepest, months.cumulative)))
    percent = column.line("Less work, per cent", "1", share * 100)
    old, new = staying.way.sheet.method.short, switching.way.sheet.method.short
    return column, [
        Sentence(
            "The year",
            (
                Name(named, ends[0]),
                Words(" to "),
                Name(named, ends[1]),
                Number(paid[0], 0, f", cash paid: {code}", f" staying with {old}, "),
                Number(paid[1], 0, code, f" switching to {new} in "),
                Name(named, switch),
                Number(gap, 0, f", {code}", " "),
                Choice(more, "more.", "less."),
            ),
        ),
        Sentence(
            "Worst month",
            (
                Choice(even[0], "All months are alike", "Most is paid in "),
                Name(named, worst[0], uneven[0]),
                Number(staying.worst_paid, 0, f" when staying ({code}", "), "),
                Choice(even[1], "all are alike", Choice(even[0], "most is paid in ", "and in ")),
                Name(named, worst[1], uneven[1]),
                Number(switching.worst_paid, 0, f" when switching ({code}", ")."),
            ),
        ),
        Sentence(
            "Deepest",
            (
                Choice(
                    deep,
                    "Added up, switching is furthest behind staying at the end of ",
                    "Added up, switching is never behind staying",
                ),
                Name(named, deep_at, deep),
                Number(deepest, 0, f", by {code}", "", deep),
                Words("."),
            ),
        ),
        Sentence(
            "Charged",
            (
                Number(charged[0], 0, f"In profit and loss the year is charged {code}", " staying, "),
                Number(charged[1], 0, code, " switching."),
            ),
        ),
        Sentence(
            "Less work",
            (
                Number(percent, 0, "With ", " % less work "),
                Number(less[0], 0, f"{code}", " are paid staying, "),
                Number(less[1], 0, f"{code}", " switching."),
            ),
        ),
    ]  # fmt: skip


__all__ = ["calendar", "words"]
