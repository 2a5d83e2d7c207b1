"""What must hold whatever the figures are, on the shipped demonstration and on the small invented shop.

Each check compares the model with itself after a change whose effect is known beforehand, or with a count
over the log in plain Python. Money in currency; a method's cost is its present cost, cash or full.
"""

import re
import shutil
from collections.abc import Callable, Iterable
from math import ceil
from pathlib import Path

import numpy as np
import pytest

from roi.engine.column import Line
from roi.engine.evaluate import Program, Values
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.scenario.stated import StatedInput
from roi.scenario.worklog import WorkLog

DEMO = Path(__file__).parents[2] / "scenarios" / "us_two_press"
SHOPS = ("demo", "miniature")
# Held values that are no price: a higher book value means more relief, as the test on it below says.
NOT_PAID = ("tax_book", ".credit")
LIFE = ("coated", "uncoated", "tight", "uv_factor", "abrasive_factor")


@pytest.fixture(params=SHOPS)
def study(request: pytest.FixtureRequest) -> Study:
    """Each of the two shops."""
    found = request.getfixturevalue(request.param)
    return found if isinstance(found, Study) else found[0]


def money_inputs(study: Study) -> dict[str, StatedInput]:
    """The inputs of the reckoning whose unit holds the currency."""
    known = {i.key: i for i in study.scenario.inputs.values()}
    return {key: known[key] for key in study.book.inputs if "currency" in str(known[key].unit)}


def best(stated: StatedInput) -> float:
    """The best value in the engine's unit."""
    return stated.best * stated.factor


def run(study: Study, lines: Iterable[Line], cases: dict[str, list[float]]) -> Values:
    """Values of some lines over cases side by side."""
    return Program(study.book, list(lines)).run({key: np.array(v, float) for key, v in cases.items()})


def costs(study: Study) -> dict[str, Line]:
    """Every method's present cost in both views."""
    return {
        f"{m} {key}": s.lines[key] for m, s in study.methods.items() for key in ("present", "present_full")
    }


# --- standing still, doubling, nothing, inflation


def copied(text: str, method: str, short: str) -> str:
    """A scenario's text with one of its methods stated a second time, as `copy`."""
    sections = re.split(r"(?m)^(?=\[)", text)
    own = [s for s in sections if re.match(rf"\[methods\.{method}[.\]]", s)]
    assert own
    twins = [s.replace(f"[methods.{method}", "[methods.copy", 1) for s in own]
    head = next(i for i, t in enumerate(twins) if t.startswith("[methods.copy]"))
    stated = "".join(line for line in twins[head].splitlines(True) if not line.startswith(("label", "short")))
    twins[head] = f'{stated.rstrip()}\nlabel = "A copy"\nshort = "{short}"\n\n'
    return text.rstrip() + "\n\n" + "".join(twins)


@pytest.mark.parametrize("shop", SHOPS)
def test_a_copy_of_the_current_method_saves_exactly_nothing(
    shop: str, small_shop: Callable[..., Study], tmp_path: Path
) -> None:
    """Owned alike and with nothing to change over, every flow is the same to the last bit."""
    if shop == "demo":
        shutil.copy(DEMO / "job_log.csv", tmp_path)
        text = copied((DEMO / "shop.toml").read_text("utf-8"), "polyester", "Copy")
        (tmp_path / "shop.toml").write_text(
            text.replace("[methods.copy]", '[methods.copy]\nuse = "polyester"'), "utf-8"
        )
        twins = build(read(tmp_path / "shop.toml"))
    else:
        original = (small_shop().scenario.path).read_text("utf-8")
        twins = small_shop((original, copied(original, "old", "Copy")))
    values = twins.evaluate()

    assert twins.scenario.current != "copy"
    for view in ("cash", "full"):
        saved = twins.cash_flow.savings["copy"][view]
        assert not values[saved.flows].any()
        assert float(values[saved.npv][0]) == 0
        assert float(values[saved.no_outlay][0]) == 1
    stay, copy = (twins.methods[m].lines for m in (twins.scenario.current, "copy"))
    assert float(values[stay["present"]][0]) == float(values[copy["present"]][0]) > 0


def test_doubling_all_money_doubles_every_cost_and_no_rate(study: Study) -> None:
    """Every line of a method in currency doubles; rates of return, ratios, paybacks and plates stay."""
    once = study.evaluate()
    twice = study.evaluate({key: 2 * best(i) for key, i in money_inputs(study).items()})

    for sheet in study.methods.values():
        for line in sheet.column.lines:
            factor = 2 if re.match(r"currency(/|$)", str(line.unit)) else 1
            assert twice[line] == pytest.approx(factor * once[line], rel=1e-11, abs=1e-9), line.key
    for views in study.cash_flow.savings.values():
        for saved in views.values():
            assert twice[saved.npv] == pytest.approx(2 * once[saved.npv], rel=1e-9)
            for name in ("irr", "mirr", "ratio", "payback", "discounted_payback"):
                line = getattr(saved, name)
                assert twice[line] == pytest.approx(once[line], rel=1e-9, abs=1e-12), line.key


def test_where_nothing_costs_anything_all_is_zero_and_finite(study: Study) -> None:
    """No division by a cost that isn't there; a tie at nothing leaves the current method standing."""
    values = study.evaluate(dict.fromkeys(money_inputs(study), 0.0))

    for line in study.book.lines:
        assert np.isfinite(values[line]).all(), line.key
    for line in costs(study).values():
        assert float(values[line][0]) == 0
    assert float(values[study.comparison.rows["stays"]][0]) == 1


@pytest.mark.parametrize("inflation", [-0.01, 0.03, 0.08])
def test_uniform_inflation_with_a_real_rate_changes_no_present_cost(study: Study, inflation: float) -> None:
    """Irving Fisher, The Theory of Interest (1930): 1 + nominal = (1 + real)(1 + inflation). Without tax."""
    prices = [k for k in study.book.inputs if k.startswith("growth.") and k != "growth.volume"] + [
        "money.inflation"
    ]
    plain = {"money.tax_rate": 0.0, "money.rate_is_real": 1.0}
    still = study.evaluate({**plain, **dict.fromkeys(prices, 0.0)})
    rising = study.evaluate({**plain, **dict.fromkeys(prices, inflation)})

    assert len(prices) == 9
    for line in costs(study).values():
        assert rising[line] == pytest.approx(still[line], rel=1e-11), line.key
    # Not because nothing moved: the money of each year did.
    running = study.methods[study.scenario.current].lines["running_1"]
    assert rising[running] == pytest.approx(still[running] * (1 + inflation), rel=1e-11)


def test_running_savings_less_extra_investment_are_the_net_present_value(study: Study) -> None:
    """10 CFR 436.21: the ratio's top less its divisor is the net savings of 436.20, at any rate and tax."""
    cases: dict[str, list[float]] = {
        "money.discount_rate": [0.01, 0.08, 0.2, 0.08],
        "money.tax_rate": [0.25, 0.0, 0.4, 0.25],
        "money.mid_year": [0, 0, 1, 1],
    }
    lines = {m: s.lines for m, s in study.methods.items()}
    that = lines[study.scenario.current]
    for method, views in study.cash_flow.savings.items():
        for view, key in (("cash", ""), ("full", "_full")):
            saved = views[view]
            wanted = [
                saved.npv,
                saved.ratio,
                saved.has_ratio,
                *(x[n] for x in (that, lines[method]) for n in (f"ran{key}", "invested")),
            ]
            npv, ratio, has, ran_old, put_old, ran_new, put_new = run(study, wanted, cases).values()
            extra = put_new - put_old
            assert npv == pytest.approx(ran_old - ran_new - extra, rel=1e-9, abs=1e-6)
            assert (has == (extra > 0)).all()
            assert np.where(has, (ratio - 1) * extra, npv) == pytest.approx(npv, rel=1e-9, abs=1e-6)


def test_running_costs_at_mid_year(study: Study) -> None:
    """Half a year earlier is times the root of 1 + rate, for running costs alone; flows and rates stay."""
    values, halfway = study.evaluate(), study.evaluate({"money.mid_year": 1.0})
    rate = float(values[study.shop.rate][0])

    for sheet in study.methods.values():
        invested, ran = (float(values[sheet.lines[key]][0]) for key in ("invested", "ran"))
        assert float(halfway[sheet.lines["present"]][0]) == pytest.approx(
            invested + ran * (1 + rate) ** 0.5, rel=1e-12
        )
        assert halfway[sheet.lines["after"]].tolist() == values[sheet.lines["after"]].tolist()
    for views in study.cash_flow.savings.values():
        for saved in views.values():
            for name in ("irr", "mirr", "payback", "discounted_payback"):
                assert float(halfway[getattr(saved, name)][0]) == float(values[getattr(saved, name)][0])


# --- directions


def test_no_cost_falls_when_a_price_paid_rises(study: Study) -> None:
    """Every input in currency, one at a time and up by a quarter; each of them raises some method's cost.

    Overtime and contribution count in the states of a press that they belong to, installing the successor of
    an owned machine only where it is due at the switch: the reckoning is asked in each of these states.
    """
    paid = {k: i for k, i in money_inputs(study).items() if not k.endswith(NOT_PAID)}
    keys = list(paid)
    assert len(keys) > 15
    # A price that is nothing at best is raised by one unit of money.
    raise_by = {k: best(paid[k]) * 0.25 or 1.0 for k in keys}
    prices = {
        k: [best(paid[k]) + (raise_by[k] if k == raised else 0) for raised in ["", *keys]] for k in keys
    }
    states = [k for k in study.book.inputs if k.endswith(".state")]
    owned = [k for k in study.book.inputs if k.endswith(".years_left")]
    circumstances: list[dict[str, float]] = [{}, *(dict.fromkeys(states, x) for x in (2.0, 3.0))]
    circumstances.append(dict.fromkeys(owned, 0.0))
    lines = costs(study)
    moved: set[str] = set()
    for at in circumstances:
        cases = prices | {k: [x] * (len(keys) + 1) for k, x in at.items()}
        for name, cost in zip(lines, run(study, lines.values(), cases).values(), strict=True):
            cost = np.broadcast_to(cost, len(keys) + 1)
            for key, risen in zip(keys, cost[1:], strict=True):
                assert risen >= cost[0] * (1 - 1e-12), f"{name} falls when {key} rises, given {at}"
                if risen > cost[0] * (1 + 1e-9):
                    moved.add(key)
    assert set(keys) == moved


def test_no_cost_rises_when_scrap_fetches_more(study: Study) -> None:
    """A credit is a price received: a higher one lowers the cost of the method that has it, and no other's."""
    credits = {k: i for k, i in money_inputs(study).items() if k.endswith(".credit")}
    lines = costs(study)
    for key, credit in credits.items():
        cases = {key: [best(credit), best(credit) * 2]}
        for name, cost in zip(lines, run(study, lines.values(), cases).values(), strict=True):
            low, high = np.broadcast_to(cost, 2)
            assert high <= low, name
            assert (high < low) == name.startswith(key.split(".")[1] + " "), name


def test_no_cost_rises_when_resale_rises(study: Study) -> None:
    """The resale share is a price received; a higher one lowers the cost of the method with the machine."""
    shares = {i.key: i for i in study.scenario.inputs.values() if i.key.endswith(".resale")}
    assert shares
    for key, share in shares.items():
        lines = costs(study)
        for name, cost in zip(
            lines,
            run(study, lines.values(), {key: [best(share), best(share) + 0.1, 0.9]}).values(),
            strict=True,
        ):
            cost = np.broadcast_to(cost, 3)
            assert cost[0] >= cost[1] >= cost[2], name
            assert (cost[1] < cost[0]) == name.startswith(key.split(".")[1] + " "), name


def test_a_higher_tax_book_value_means_more_relief(miniature: tuple[Study, Values]) -> None:
    """By hand: 600 more over 6 years, 100 a year and 200 with the last, a quarter of it saved, at 10 %."""
    study, values = miniature
    line = study.methods["old"].lines["present"]
    more = study.evaluate({"methods.old.equipment.line.tax_book": 1200.0})

    relief = 0.25 * sum(x / 1.1**t for t, x in ((1, 100), (2, 100), (3, 100), (4, 300)))
    assert float(values[line][0] - more[line][0]) == pytest.approx(relief, rel=1e-9)


def test_pickups_never_fall_and_costs_rise_when_volume_does(study: Study) -> None:
    """Growth of work from -40 % to +60 % a year: pickups go up in steps, running costs steadily."""
    growth = np.arange(-0.4, 0.6001, 0.025).tolist()
    steps = [line for line in study.book.lines if line.label.endswith((", pickups", ", containers"))]
    assert steps
    for line, taken in run(study, steps, {"growth.volume": growth}).items():
        assert isinstance(line, Line)
        assert (taken == np.round(taken)).all(), line.key
        assert (np.diff(taken, axis=1) >= 0).all(), line.key
        assert len(np.unique(taken[2])) > 1 or taken[2, 0] > 0, line.key
    running = [s.lines["running"] for s in study.methods.values()]
    for line, cost in run(study, running, {"growth.volume": growth}).items():
        assert isinstance(line, Line)
        assert (np.diff(cost[2:8], axis=1) >= -1e-9).all(), line.key
        assert (cost[2, -1] > cost[2, 0]).all(), line.key


def test_without_growth_every_year_is_the_log(study: Study) -> None:
    """The log's year is year 1: at no growth of work and prices each year costs what year 1 does."""
    keys = [k for k in study.book.inputs if k.startswith("growth.")] + ["money.inflation"]
    values = study.evaluate(dict.fromkeys(keys, 0.0))
    years = round(float(values[study.shop.horizon][0]))
    for sheet in study.methods.values():
        cost = values[sheet.lines["running"]][:, 0]
        assert cost[0] == 0 and cost[1] > 0 and not cost[years + 1 :].any()
        assert cost[1 : years + 1] == pytest.approx([cost[1]] * years, rel=1e-12)


# --- the log, counted form by form


def counted(study: Study, method_id: str, at: dict[str, float]) -> tuple[float, float]:
    """A year's plates called for, and plates hung over all sets: a loop over the log's forms in plain Python.

    at : {input key: value} where not at its best
    """
    scenario = study.scenario
    work: WorkLog = scenario.work
    method = scenario.method(method_id)

    def value(*key: str) -> float:
        return at.get(".".join(key), best(scenario.inputs[key]))

    own = ("methods", method_id)
    sheets = {n: value("shop", f"sheets_{word}_colour") for n, word in ((1, "one"), (2, "two"), (3, "four"))}
    waste, stretch, bought = (
        value("shop", "running_waste"),
        value("shop", "stretch"),
        value("bought_in", "life"),
    )
    limit = value(*own, "ruling_limit") if method.makes_plates else 0.0
    life = {k: value(*own, "life", k) for k in LIFE if scenario.has(*own, "life", k)}
    fits = [
        method.largest is None or (s.short <= method.largest[0] + 2e-4 and s.long <= method.largest[1] + 2e-4)
        for s in scenario.sizes
    ]
    names = (
        "weight",
        "good",
        "plates",
        "size",
        "ruling",
        "uncoated",
        "tight",
        "uv",
        "abrasive",
        "envelope",
        "confined",
    )
    called = hung = 0.0
    for row in zip(*(getattr(work, name).tolist() for name in names), strict=True):
        form = dict(zip(names, row, strict=True))
        barred = any(form[flag] for flag in method.cannot_serve)
        if method.makes_plates and fits[form["size"]] and not barred and form["ruling"] <= limit:
            kind = (
                "tight" if form["tight"] and "tight" in life else "uncoated" if form["uncoated"] else "coated"
            )
            runs = life[kind]
            runs *= life.get("uv_factor", 1) if form["uv"] else 1
            runs *= life.get("abrasive_factor", 1) if form["abrasive"] or form["envelope"] else 1
        else:
            runs = bought
        gross = form["good"] * (1 + waste) + sheets[min(form["plates"], 3)]
        # A run of exactly so many lives takes so many sets, whatever the last bit of the quotient says.
        sets = max(1, ceil(gross / (runs * (1 + stretch)) * (1 - 1e-12)))
        called += form["weight"] * form["plates"]
        hung += form["weight"] * form["plates"] * sets
    return called * 365.25 / work.days, hung * 365.25 / work.days


def hung_line(study: Study, method: str) -> Line:
    """Plates of all sets, by size, own and bought in."""
    return study.book.line(f"{method}.Plates to hang, own and bought in")


def lives(study: Study, method: str) -> dict[str, StatedInput]:
    """The plate lives that this method's sets depend on."""
    keys = ("coated", "uncoated", "tight")
    found = {i.key: i for k in keys if (i := study.scenario.stated("methods", method, "life", k)) is not None}
    return found | {"bought_in.life": study.scenario.inputs[("bought_in", "life")]}


def test_plates_called_for_are_those_of_the_log(study: Study) -> None:
    """The same for every method, and the log's own count over its period."""
    called = float(study.evaluate()[study.shop.plates_called][0])

    assert called == pytest.approx(counted(study, study.scenario.current, {})[0], rel=1e-12)
    assert float(study.work.bin_forms.values.sum()) == pytest.approx(
        len(study.scenario.work.good) * study.scenario.work.per_year, rel=1e-12
    )


def compared(study: Study, method: str, ends: list[dict[str, float]]) -> tuple[np.ndarray, list[float]]:
    """Plates of all sets by the model and by the count, for each of some {life's key: value}."""
    stated = lives(study, method)
    cases = {k: [at.get(k, best(i)) for at in ends] for k, i in stated.items() if k in study.book.inputs}
    line = hung_line(study, method)
    found = run(study, [line], cases)[line].sum(axis=0)
    return np.broadcast_to(found, len(ends)), [counted(study, method, at)[1] for at in ends]


def test_sets_are_exact_at_the_stated_lives(study: Study) -> None:
    """At best, low and high of each life, alone and together, bins give what a count over the log gives."""
    for method in study.methods:
        stated = lives(study, method)
        ends: list[dict[str, float]] = [{}]
        ends += [{k: x * i.factor} for k, i in stated.items() for x in (i.low, i.high)]
        ends += [{k: getattr(i, end) * i.factor for k, i in stated.items()} for end in ("low", "high")]
        found, hand = compared(study, method, ends)
        assert found == pytest.approx(hand, rel=1e-11), method


def test_sets_between_the_stated_lives_are_near(demo: Study) -> None:
    """All lives from low over best to high in twentieths: 1.5 % off on average at most, 2.5 % at worst."""
    for method in demo.methods:
        stated = lives(demo, method)
        ends = [
            {k: (i.best + part / 20 * (getattr(i, end) - i.best)) * i.factor for k, i in stated.items()}
            for end in ("low", "high")
            for part in range(1, 20)
        ]
        found, hand = compared(demo, method, ends)
        off = np.abs(found / np.array(hand) - 1)
        assert off.mean() < 0.015, method
        assert off.max() < 0.025, method
