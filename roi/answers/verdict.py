"""The verdict in words: which method is cheapest, by how much, in cash and at full cost, and what that rests on.

Never stronger than the figures: "stay as you are" and "too close to call" are answers.
"""

from __future__ import annotations

from collections.abc import Callable

from roi.answers.capacity import cheapest_keeps_up
from roi.answers.few import decimals
from roi.answers.firmness import how_close, how_sure, too_close, what_to_check
from roi.answers.ranges import try_ranges
from roi.answers.undoing import UNSTATED, going_back
from roi.answers.workings import workings
from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Expr
from roi.engine.operations import at_least, constant, opposite, pick, when
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.study import Study
from roi.scenario.summary import example_of
from roi.units.quantity import currencies

IMPOSSIBLE = "No method can do this work as stated: see Comparison."


def verdict(study: Study) -> tuple[Column, list[Sentence]]:
    """The lines that the sentences speak of, and the sentences."""
    compare, shop = study.comparison, study.shop
    rows, code = compare.rows, study.scenario.currency
    column = Column("Words", "words", note="Sentences on the Summary, built from the figures.")
    column.heading("Figures the sentences speak of")

    def of_cheapest(label: str, unit: str, row: str) -> Line:
        return column.line(label, unit, pick(rows[row], rows["cheapest_at"]))

    def a_year(label: str, view: str) -> Line:
        stays: Expr = rows[f"stays{view}"]
        amount = when(stays, rows[f"lead{view}"], rows[f"saving{view}"])
        return column.line(label, "currency/year", (amount / shop.annuity).per("year"))

    def flag(label: str, body: Expr) -> Line:
        return column.line(label, "1", body)

    at_whose = "At the example's " if on_example(study) else "At the shop's own "
    names, money, small = rows["present"], f"{code} ", currencies()[code]
    possible = flag("Some method can be chosen", at_least(compare.number_feasible, 1))
    several = flag("There is a choice", at_least(compare.number_feasible, 2))
    none = flag("No method can be chosen", opposite(possible))
    alone = flag("Only one method can be chosen", possible * opposite(several))
    stay = flag("Stay as you are", possible * rows["stays"])
    level = flag("There is nothing to save", stay * several * at_least(constant(1, "currency"), rows["lead"]))
    ahead = flag("Staying is ahead of another", stay * several * opposite(level))
    change = flag("Changing is cheaper", possible * opposite(rows["stays"]) * compare.current_feasible)
    must = flag("Changing is needed", possible * opposite(compare.current_feasible))
    gap = flag("A difference is told", opposite(opposite(ahead) * opposite(change)))
    agree = flag("The views agree", possible * rows["views_agree"])
    stay_full = flag("Staying is ahead at full cost", possible * rows["stays_full"] * several)
    change_full = flag(
        "Changing is cheaper at full cost", possible * opposite(rows["stays_full"]) * compare.current_feasible
    )
    gap_full = flag(
        "A difference at full cost is told", opposite(opposite(stay_full) * opposite(change_full))
    )
    short = flag("One year is looked ahead", at_least(constant(1, "year"), shop.horizon))
    one_year = flag("One year, and a difference is told", short * gap)
    lone_full = flag("Nothing to tell a difference from at full cost", possible * opposite(gap_full))
    whole = column.line(
        "Difference over the years, cash", "currency", when(rows["stays"], rows["lead"], rows["saving"])
    )
    yearly = a_year("Difference a year, cash", "")
    yearly_full = a_year("Difference a year, full cost", "_full")
    plate = of_cheapest("Cost of a plate, cheapest", "currency/plate", "per_plate")
    first = of_cheapest("First cost of the cheapest", "currency", "first_cost")
    payback = of_cheapest("Payback of the cheapest", "year", "payback.cash")
    calm = flag("Nothing is spent at first", stay * at_least(0, first))
    pays = flag("The cheapest pays back", at_least(pick(rows["has_payback.cash"], rows["cheapest_at"]), 1))
    free = flag(
        "The cheapest has nothing to pay back", at_least(pick(rows["no_outlay.cash"], rows["cheapest_at"]), 1)
    )
    told = flag("Payback is told", change * pays * opposite(free))
    unpaid = flag("It does not pay back", change * opposite(pays) * opposite(free))
    nothing = flag("That there is nothing to pay back is told", change * free)
    plates = shop.plates_a_month
    keeps_up = cheapest_keeps_up(study, column, possible)
    undoing = going_back(study, column, change)
    # What is too close to call isn't then said as if it were decided.
    close = too_close(study)
    opening = (
        Choice(must, "Changing is ", Choice(possible, "On best figures", IMPOSSIBLE))
        if close
        else Choice(none, IMPOSSIBLE, Choice(stay, "Stay as you are:", "Changing is "))
    )
    return column, [
        Sentence(
            "Verdict",
            (
                opening,
                Choice(must, "needed, since today's method can't do this work: ", " " if close else Choice(change, "cheaper: ")),
                Name(names, rows["cheapest_at"], possible),
                # Of this and the next piece one is always absent, which is a space.
                Choice(ahead, " costs least, ahead of the next by", Choice(change, " costs least, and saves against today")),
                Choice(level, "costs no more than the next, and there is nothing to save."),
                Number(yearly, 0, money, " a year.", gap),
                Choice(alone, " is the only one that can do the work.", Choice(must, " costs least of those that can.")),
            ),
        ),
        keeps_up,
        Sentence(
            "Over the years",
            (
                Number(whole, 0, "That is " + money, "", gap),
                Number(shop.horizon, 0, " in money of today over ", " ", gap),
                Choice(one_year, "year", Choice(gap, "years")),
                Choice(gap, ", after tax, in cash."),
            ),
        ),
        Sentence(
            "At full cost",
            (
                Choice(agree, "With ", Choice(possible, "Beware: with ")),
                Choice(possible, "all freed time, floor and press hours counted as money, "),
                Name(names, rows["cheapest_at_full"], possible),
                Choice(agree, " costs least too", Choice(possible, " costs least instead")),
                Number(yearly_full, 0, ", by " + money, " a year.", gap_full),
                Choice(lone_full, "all told."),
            ),
        ),
        Sentence(
            "A plate",
            (
                Number(plates, decimals(study), at_whose, " plates a month a plate costs ", possible),
                Number(plate, small, money, " with the cheapest, all counted, after tax.", possible),
            ),
        ),
        Sentence(
            "Up front",
            (
                Number(first, 0, "It takes " + money, " up front", possible),
                Choice(calm, ", since nothing is changed.", Choice(possible, ".")),
                Number(payback, 1, " It pays back in ", " years, after tax.", told),
                Choice(unpaid, " That does not come back within the years looked ahead."),
                Choice(nothing, " There is nothing to pay back."),
            ),
        ),
        *undoing,
        Sentence(
            "Cumulative cost",
            (
                Name(names, rows["cheapest_at"]),
                Number(shop.horizon, 0, " has the lowest present cost over ", " "),
                Choice(short, "year", "years"),
            ),
        ),
        Sentence("Cost by family", (Name(names, rows["least_running_at"]), Words(" costs least to run in year 1"))),
    ]  # fmt: skip


def on_example(study: Study) -> str:
    """That the work is an example, said before any verdict on it; "" where it is the shop's own."""
    note = example_of(study.scenario.work.notes)
    return f"{note}." if note else ""


# Sentences that stand elsewhere: titles of charts, and what is said beside the cautions.
TITLES = ("Cumulative cost", "Cost by family", UNSTATED)


def sentences(
    study: Study, values: Values, tell: Callable[[Sentence, Values], str] = Sentence.say
) -> list[str]:
    """The verdict said with computed values; `tell` says a sentence, such as in another language."""
    column, said = verdict(study)
    known = extend(values, [column])
    spoken = {sentence.label: tell(sentence, known) for sentence in said if sentence.label not in TITLES}
    # The difference and what it comes to over the years, how firm that is, and the rest.
    first = [spoken.pop(label) for label in ("Verdict", "Over the years")]
    further = workings(study, try_ranges(study), sensitivity=False, stresses=False)
    assert further.volumes is not None
    turns = tell(further.volumes.turn, further.evaluate(values)[0])
    firm = [how_sure(study), how_close(study), turns]
    if too_close(study):  # said before anything that sounds decided
        first, firm = [firm[0], *first], firm[1:]
    if example := on_example(study):
        first = [example, *first]
    return [text for text in (*first, *firm, *spoken.values(), what_to_check(study)) if text]


__all__ = ["TITLES", "on_example", "sentences", "verdict"]
