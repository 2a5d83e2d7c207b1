"""The verdict in words: which method is cheapest, by how much, in cash and at full cost, and what that rests on.

Never stronger than the figures: "stay as you are" and "too close to call" are answers.
"""

from __future__ import annotations

from roi.answers.ranges import how_close, turning
from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Expr, at_least, opposite, pick, when
from roi.engine.words import Choice, Name, Number, Sentence, Words
from roi.model.study import Study
from roi.units.quantity import currencies


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

    possible = column.line("Some method can be chosen", "1", at_least(compare.number_feasible, 1))
    stays = column.line("Stay as you are", "1", rows["stays"])
    whole = column.line(
        "Difference over the years, cash", "currency", when(stays, rows["lead"], rows["saving"])
    )
    yearly = a_year("Difference a year, cash", "")
    yearly_full = a_year("Difference a year, full cost", "_full")
    plate = of_cheapest("Cost of a plate, cheapest", "currency/plate", "per_plate")
    first = of_cheapest("First cost of the cheapest", "currency", "first_cost")
    payback = of_cheapest("Payback of the cheapest", "year", "payback.cash")
    pays = column.line(
        "The cheapest pays back", "1", at_least(pick(rows["has_payback.cash"], rows["cheapest_at"]), 1)
    )
    nothing = column.line(
        "The cheapest takes nothing to pay back",
        "1",
        at_least(pick(rows["no_outlay.cash"], rows["cheapest_at"]), 1),
    )
    told = column.line("Payback is told", "1", pays * opposite(nothing) * opposite(stays))
    unpaid = column.line("It does not pay back", "1", opposite(pays) * opposite(nothing) * opposite(stays))
    lonely = column.line("Only one method can be chosen", "1", opposite(at_least(compare.number_feasible, 2)))
    plates = column.line("Plates called for a month", "plate/year", shop.plates_called / 12)
    names = rows["present"]
    money = f"{code} "
    small = currencies()[code]
    return column, [
        Sentence(
            "Verdict",
            (
                Choice(stays, "Stay as you are: ", "Changing is cheaper: "),
                Name(names, rows["cheapest_at"]),
                Choice(stays, " costs least, ahead of the next by ", " costs least, and saves against today "),
                Number(yearly, 0, money, " a year."),
                Choice(possible, " ", " But no method can do this work as stated: see Comparison."),
            ),
        ),
        Sentence(
            "Over the years",
            (
                Number(whole, 0, "That is " + money),
                Number(shop.horizon, 0, " in money of today over ", " years, after tax, in cash."),
                Choice(lonely, " It is the only one that can do the work.", " "),
            ),
        ),
        Sentence(
            "At full cost",
            (
                Choice(rows["views_agree"], "With ", "Beware: with "),
                Words("all freed time, floor and press hours counted as money, "),
                Name(names, rows["cheapest_at_full"]),
                Choice(rows["views_agree"], " costs least too, by ", " costs least instead, by "),
                Number(yearly_full, 0, money, " a year."),
            ),
        ),
        Sentence(
            "A plate",
            (
                Number(plates, 0, "At the shop's own ", " plates a month a plate costs "),
                Number(plate, small, money, " with the cheapest, all counted, after tax."),
            ),
        ),
        Sentence(
            "Up front",
            (
                Number(first, 0, "It takes " + money, " up front"),
                Choice(stays, ", since nothing is changed.", "."),
                Number(payback, 1, " It pays back in ", " years, after tax.", told),
                Choice(unpaid, " That does not come back within the years looked ahead.", " "),
                Choice(nothing, " There is nothing to pay back.", " "),
            ),
        ),
        Sentence(
            "Cumulative cost",
            (Name(names, rows["cheapest_at"]), Number(shop.horizon, 0, " has the lowest present cost over ", " years")),
        ),
        Sentence("Cost by family", (Name(names, rows["least_running_at"]), Words(" costs least to run in year 1"))),
    ]  # fmt: skip


# Sentences that are titles of charts, not part of what is said.
TITLES = ("Cumulative cost", "Cost by family")


def sentences(study: Study, values: Values) -> list[str]:
    """The verdict said with computed values."""
    column, said = verdict(study)
    known = extend(values, [column])
    spoken = [sentence.say(known) for sentence in said if sentence.label not in TITLES]
    return [*spoken, how_close(turning(study))]


__all__ = ["TITLES", "sentences", "verdict"]
