"""Several scenarios side by side: the same measures of each, in a column a scenario, and what they say together.

Methods are matched by their id. Each scenario keeps its own currency: where they differ, nothing is added or subtracted
across scenarios, and only counts and shares are set beside one another. Costs are positive, after tax where not said.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from roi import __version__
from roi.answers.compare import SCHEMA, as_json, one
from roi.answers.differences import Differences, differences
from roi.answers.verdict import verdict
from roi.engine.column import Column, Line
from roi.engine.evaluate import Values, extend
from roi.engine.expression import Axis, Constant, Data, Expr
from roi.engine.operations import (
    at,
    at_least,
    gather,
    largest,
    opposite,
    pick,
    position_of,
    smallest,
    smallest_at,
    total,
    when,
)
from roi.engine.words import Choice, Name, Number, Piece, Sentence
from roi.model.study import Study
from roi.scenario.problems import Problem
from roi.scenario.stated import StatedInput

MOST = 10
LETTERS = "ABCDEFGHIJ"
FIGURES = "Side by side figures"
VIEWS = (("", "in cash"), ("_full", "at full cost"))
ACROSS = "Currencies differ: nothing is added or subtracted across scenarios; compare within a column, and shares along a row."


@dataclass(frozen=True, eq=False)
class LinedUp:
    """Scenarios lined up.

    names : a distinct name each;  methods : ids of all methods, with the short name each goes by
    rows : lines over the scenarios, by key: "saving", "saving_full", "present.ID", "feasible.ID", ...
    sentences : what the scenarios say together;  one_currency : whether amounts may be set against each other
    """

    studies: tuple[Study, ...]
    names: tuple[str, ...]
    methods: dict[str, str]
    column: Column
    rows: dict[str, Line]
    sentences: tuple[Sentence, ...]
    one_currency: bool

    def values(self, each: Sequence[Values]) -> Values:
        """Every line of the figures; `each` holds the values of each study's own lines."""
        known: Values = {}
        for values in each:
            known |= values
        return extend(known, [self.column])

    def said(self, values: Values) -> list[str]:
        """The sentences with values put in."""
        spoken = [sentence.say(values) for sentence in self.sentences]
        return [text for text in spoken if text] + ([] if self.one_currency else [ACROSS])


def refused(paths: Sequence[Path]) -> list[Problem]:
    """Why these files can't stand side by side: too many, or one file twice."""
    found = []
    if len(paths) > MOST:
        what = f"{len(paths)} files are too many to stand side by side"
        found.append(Problem("scenarios", what, f"name {MOST} at most"))
    seen: dict[Path, Path] = {}
    for path in paths:
        file = path.resolve()
        if file in seen:
            mend = "name each file once; for a variant, copy it or write a file that is based_on it"
            found.append(Problem(str(path), f"is named twice (as {seen[file]} before)", mend))
        seen.setdefault(file, path)
    return found


def distinct_names(studies: Sequence[Study]) -> tuple[str, ...]:
    """The scenarios' names; those that share one are told apart by the file's name, or its folder's too."""
    scenarios = [study.scenario for study in studies]
    names = [s.name for s in scenarios]
    files = [s.path.name for s in scenarios]
    folders = [f"{s.path.resolve().parent.name}/{s.path.name}" for s in scenarios]
    named = []
    for i, name in enumerate(names):
        if names.count(name) == 1:
            named.append(name)
            continue
        rivals = [j for j, other in enumerate(names) if other == name]
        apart = files[i] if sum(files[j] == files[i] for j in rivals) == 1 else folders[i]
        named.append(f"{name} ({apart})")
    return tuple(named)


def lined_up(studies: Sequence[Study]) -> LinedUp:
    """Put two to ten studies side by side."""
    names = distinct_names(studies)
    labels = tuple(f"{letter}: {name}" for letter, name in zip(LETTERS, names, strict=False))
    lines = _Lines(tuple(studies), Axis("scenarios", labels))
    return LinedUp(
        tuple(studies), names, lines.methods, lines.column, lines.rows, tuple(lines.sentences()), lines.one_currency
    )  # fmt: skip


class _Lines:
    def __init__(self, studies: tuple[Study, ...], axis: Axis) -> None:
        self.studies, self.axis = studies, axis
        shorts: dict[str, dict[str, None]] = {}
        for study in studies:
            for name, sheet in study.methods.items():
                shorts.setdefault(name, {})[sheet.method.short] = None
        self.methods = {name: " / ".join(those) for name, those in shorts.items()}
        self.one_currency = len({study.scenario.currency for study in studies}) == 1
        self.column = Column(
            FIGURES, "side_by_side", across=True, note="What stands on Side by side, and what it speaks of."
        )
        self.rows: dict[str, Line] = {}
        self._scenarios()
        for view, words in VIEWS:
            self._saving(view, words)
        kept = self.rows["possible"] * self.rows["stays"]
        self._put("kept", "Nothing changes, in cash", "1", kept)
        pays = self.rows["changes"] * at_least(self.rows["has_payback.cash"], 1)
        self._put("pays", "A payback is told, in cash", "1", pays)
        for name, short in self.methods.items():
            self._method(name, short)
        for view, words in VIEWS:
            self._count(view, words)
            if self.one_currency:
                self._spread(view, words)

    def _put(self, key: str, label: str, unit: str, body: Expr, note: str = "") -> Line:
        self.rows[key] = self.column.line(label, unit, body, note=note)
        return self.rows[key]

    def _fetch(self, key: str, label: str, unit: str, parts: Sequence[Expr], note: str = "") -> Line:
        return self._put(key, label, unit, gather(self.axis, parts), note)

    def _scenarios(self) -> None:
        """What each scenario comes to, with the method that is cheapest in cash."""
        self.column.heading("Each scenario")
        compare = [study.comparison for study in self.studies]
        shops = [study.shop for study in self.studies]
        self._fetch("horizon", "Years looked ahead", "year", [s.horizon for s in shops])
        self._fetch("plates", "Plates a month called for", "plate/month", [s.plates_a_month for s in shops])
        self._fetch(
            "annuity", "Present worth of one a year", str(shops[0].annuity.unit), [s.annuity for s in shops]
        )
        number = self._fetch(
            "choices", "Methods that can be chosen", "1", [c.number_feasible for c in compare]
        )
        self._put("possible", "Some method can be chosen", "1", at_least(number, 1))
        self._put(
            "nobody", "No scenario has a method that can be chosen", "1", opposite(at_least(total(number), 1))
        )
        able = [c.current_feasible for c in compare]
        self._fetch("able", "The current method can do the work", "1", able)
        self._put("told", "A saving can be told", "1", self.rows["possible"] * self.rows["able"])
        for key, label, unit in (
            ("first_cost", "First cost of the cheapest, before tax", "currency"),
            ("payback.cash", "Payback of the cheapest", "year"),
            ("has_payback.cash", "The cheapest pays back", "1"),
            ("per_plate", "Cost of a plate with the cheapest", "currency/plate"),
        ):
            self._fetch(key, label, unit, [pick(c.rows[key], c.rows["cheapest_at"]) for c in compare])
        places = [list(study.methods).index(study.scenario.current) for study in self.studies]
        now = [at(c.rows["per_plate"], i) for c, i in zip(compare, places, strict=True)]
        self._fetch("per_plate_now", "Cost of a plate with the method in use", "currency/plate", now)

    def _saving(self, view: str, words: str) -> None:
        """What the cheapest saves a year against staying: 0 where staying is cheapest."""
        rows = [study.comparison.rows for study in self.studies]
        stays = self._fetch(
            f"stays{view}", f"Staying is cheapest, {words}", "1", [r[f"stays{view}"] for r in rows]
        )
        saving = self._fetch(
            f"whole{view}", f"Saving over the years, {words}", "currency", [r[f"saving{view}"] for r in rows]
        )
        changes = self._put(
            f"changes{view}", f"Changing saves, {words}", "1", self.rows["told"] * opposite(stays)
        )
        yearly = when(changes, saving / self.rows["annuity"], 0).per("year")
        self._put(f"saving{view}", f"Saving a year against staying, {words}", "currency/year", yearly)
        lead = self._fetch(
            f"lead{view}", f"Ahead of the next, {words}", "currency", [r[f"lead{view}"] for r in rows]
        )
        ahead = (lead / self.rows["annuity"]).per("year")
        self._put(f"ahead{view}", f"Ahead of the next a year, {words}", "currency/year", ahead)
        self._fetch(
            f"own{view}", f"Present cost of staying, {words}", "currency", [r[f"own{view}"] for r in rows]
        )
        self._fetch(
            f"winner{view}", f"Position of the cheapest, 0 for none, {words}", "1", [r[f"winner{view}"] for r in rows]
        )  # fmt: skip

    def _method(self, name: str, short: str) -> None:
        """A method in every scenario; 0 where a scenario lacks it, which the first row tells."""
        self.column.heading(f"{short} ({name})")
        places = [list(s.methods).index(name) if name in s.methods else None for s in self.studies]

        def of(key: str, unit: str) -> list[Expr]:
            nothing = Constant(0) if unit == "1" else Constant(0).during(unit)
            pairs = zip(self.studies, places, strict=True)
            return [nothing if i is None else at(s.comparison.rows[key], i) for s, i in pairs]

        present_in = [0.0 if i is None else 1.0 for i in places]
        self.column.data(
            Data(
                f"has.{name}",
                f"{short}: in the scenario (1) or not (0)",
                "1",
                self.axis,
                present_in,
                flag=True,
            )
        )
        able = self._fetch(f"feasible.{name}", f"{short}: feasible", "1", of("feasible", "1"))
        beside = self._put(
            f"beside.{name}", f"{short}: has a share of staying", "1", able * self.rows["able"]
        )
        for view, words in VIEWS:
            cost = self._fetch(
                f"present{view}.{name}",
                f"{short}: present cost, {words}",
                "currency",
                of(f"present{view}", "currency"),
            )
            share = when(beside, cost / self.rows[f"own{view}"], 0)
            self._put(
                f"share{view}.{name}", f"{short}: present cost as a share of staying, {words}", "1", share
            )
            chosen = self._fetch(
                f"chosen{view}.{name}", f"{short}: is the cheapest, {words}", "1", of(f"chosen{view}", "1")
            )
            self._put(
                f"named{view}.{name}", f"{short}: costs least, {words}", "1", chosen * self.rows["possible"]
            )
        cost = self.rows[f"present.{name}"]
        self._put(
            f"drawn.{name}",
            f"{short}: present cost in cash, 0 where it can't be chosen",
            "currency",
            when(able, cost, 0),
        )

    def _count(self, view: str, words: str) -> None:
        """In how many scenarios each method costs least."""
        self.column.heading(f"What they agree on, {words}")
        if "number" not in self.rows:
            each = Data("side_by_side.each", "Scenarios counted", "1", self.axis, [1.0] * len(self.axis))
            self._put("number", "Scenarios", "1", total(self.column.data(each)))
        for name, short in self.methods.items():
            label = f"{short}: scenarios in which it costs least, {words}"
            count = self._put(f"count{view}.{name}", label, "1", total(self.rows[f"named{view}.{name}"]))
            self._put(
                f"some{view}.{name}", f"{short}: costs least somewhere, {words}", "1", at_least(count, 1)
            )
        ids = Axis("methods", tuple(self.methods.values()), as_written=True)
        counts = gather(ids, [self.rows[f"count{view}.{name}"] for name in self.methods])
        block = self.column.line(f"Scenarios in which each method costs least, {words}", "1", counts)
        agreed = at_least(largest(block), self.rows["number"])
        self._put(f"differ{view}", f"Scenarios favour different methods, {words}", "1", opposite(agreed))

    def _spread(self, view: str, words: str) -> None:
        """Where the saving is least and most; only amounts in one currency are set against each other."""
        saving = self.rows[f"saving{view}"]
        low = self._put(f"low{view}", f"Least saving a year, {words}", "currency/year", smallest(saving))
        high = self._put(f"high{view}", f"Largest saving a year, {words}", "currency/year", largest(saving))
        self._put(f"low_at{view}", f"Where it is least, {words}", "1", smallest_at(saving))
        self._put(f"high_at{view}", f"Where it is largest, {words}", "1", position_of(high, saving))
        told, level = at_least(smallest(self.rows["told"]), 1), at_least(low, high)
        self._put(f"apart{view}", f"Savings differ, {words}", "1", told * opposite(level))
        stays = self._put(
            f"stay{view}", f"Staying costs least in each, {words}", "1", told * at_least(0, high)
        )
        self._put(f"same{view}", f"Savings are the same, {words}", "1", told * level * opposite(stays))

    def sentences(self) -> Iterator[Sentence]:
        """What the scenarios say together, in both views."""
        for view, words in VIEWS:
            yield Sentence(f"Cheapest {words}", tuple(self._favours(view, words)))
        if self.one_currency:
            for view, words in VIEWS:
                yield Sentence(f"Savings {words}", tuple(self._savings(view, words)))

    def _favours(self, view: str, words: str) -> Iterator[Piece]:
        of = f" of {len(self.studies)}. "
        told = Choice(
            self.rows[f"differ{view}"],
            f"{words.capitalize()} the answer differs: ",
            f"{words.capitalize()} they agree: ",
        )
        yield Choice(self.rows["nobody"], f"{words.capitalize()} no method can do the work in any.", told)
        for name, short in self.methods.items():
            count, some = self.rows[f"count{view}.{name}"], self.rows[f"some{view}.{name}"]
            yield Number(count, 0, f"{short} costs least in ", of, some)

    def _savings(self, view: str, words: str) -> Iterator[Piece]:
        rows, money = self.rows, f"{self.studies[0].scenario.currency} "
        saving, apart, same = rows[f"saving{view}"], rows[f"apart{view}"], rows[f"same{view}"]
        yield Choice(rows[f"stay{view}"], f"{words.capitalize()} staying costs least in each.")
        yield Choice(same, f"Against staying the cheapest saves the same {words} in each")
        yield Choice(apart, f"Against staying the cheapest saves most {words} in ")
        yield Number(rows[f"low{view}"], 0, f" ({money}", " a year).", same)
        yield Name(saving, rows[f"high_at{view}"], apart)
        yield Number(rows[f"high{view}"], 0, f" ({money}", " a year), least in ", apart)
        yield Name(saving, rows[f"low_at{view}"], apart)
        yield Number(rows[f"low{view}"], 0, f" ({money}", " a year).", apart)


def verdicts(study: Study, values: Values) -> tuple[str, str]:
    """A scenario's own verdict in cash and at full cost, in words."""
    column, said = verdict(study)
    known = extend(values, [column])
    spoken = {sentence.label: sentence.say(known) for sentence in said}
    return spoken["Verdict"], spoken["At full cost"]


def found(lined: LinedUp, each: Sequence[Values], differing: Differences | None = None) -> dict[str, Any]:
    """Everything as plain data: `scenarios`, a list of what `compare.as_json` finds of each, and `differences`.

    An input's best, low and high are in the unit it is stated in. `saving_a_year` is what the cheapest method saves
    against staying, null where one of them can't do the work. Nothing is rounded.
    """
    differing = differing or differences(lined.studies)
    known = lined.values(each)
    scenarios = []
    for i, (study, values) in enumerate(zip(lined.studies, each, strict=True)):
        told = one(known, lined.rows["told"], i) == 1
        savings = [one(known, lined.rows[f"saving{view}"], i) if told else None for view, _ in VIEWS]
        about = {"letter": LETTERS[i], "name": lined.names[i], "file": str(study.scenario.path)}
        saved = {"saving_a_year": dict(zip(("cash", "full_cost"), savings, strict=True))}
        scenarios.append(about | as_json(study, values) | saved)
    inputs = [
        {
            "key": apart.key,
            "label": apart.label,
            "differs_in": list(apart.parts),
            "in_all": apart.in_all,
            "stated": [_as_stated(stated) for stated in apart.stated],
        }
        for apart in differing.inputs
    ]
    texts = [{"what": apart.label, "stated": list(apart.texts)} for apart in differing.texts]
    apart_in = {"inputs": inputs, "texts": texts, "inputs_equal": differing.equal}
    return {"schema": SCHEMA, "version": __version__, "scenarios": scenarios, "differences": apart_in}


def _as_stated(stated: StatedInput | None) -> dict[str, Any] | None:
    if stated is None:
        return None
    times = 100 if stated.percent else 1
    ends = {"best": stated.best * times, "low": stated.low * times, "high": stated.high * times}
    return {**ends, "unit": stated.shown, "status": stated.status}


__all__ = ["LinedUp", "distinct_names", "found", "lined_up", "refused", "verdicts"]
