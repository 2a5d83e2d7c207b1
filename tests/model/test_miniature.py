"""A miniature worked by hand: two methods, three forms, one stepped waste stream, four years, compared figure by figure.

Everything in `OLD`, `NEW` and the functions below is plain arithmetic on the figures stated in the small shop's file
(conftest), following the conventions the package documents. None of it calls the project's code. Money is in currency,
positive for costs until the flows, where costs are negative; Y is the list of years 1 to 4.
"""

from math import ceil

import numpy as np
import pytest

from roi.engine.evaluate import Values
from roi.model.study import Study

K = 365.25 / 3  # three days of log, one form each: every form comes 121.75 times a year
Y = (1, 2, 3, 4)
VOLUME = [0.9 ** (y - 1) for y in Y]
DISCOUNT = [1 / 1.1**y for y in range(5)]
TAX = 0.25

# Gross impressions: good x 1.05 + make-ready sheets of two, one, four colours.
GROSS = {"A": 40000 * 1.05 + 50, "B": 9000 * 1.05 + 20, "C": 5000 * 1.05 + 200}


def level(growth: float) -> list[float]:
    """Price level of years 1 to 4."""
    return [(1 + growth) ** y for y in Y]


def over(*parts: tuple[float, str, float]) -> list[float]:
    """Years 1 to 4 of yearly amounts: (amount, "work" or "time", growth)."""
    return [
        sum(a * (VOLUME[y - 1] if follows == "work" else 1) * (1 + g) ** y for a, follows, g in parts) for y in Y
    ]


def flows(m: dict[str, object], capital: list[float], resale: list[float], residual: float, old_book: list[float], trained: float) -> None:
    """Tax and flows of years 0 to 4: a unit is written off in the year after purchase, the rest of the book in year 4."""
    running = [0.0, *np.sum([m[f] for f in FAMILIES], axis=0)]
    final = [0.0, 0.0, 0.0, 0.0, residual]
    new = [0.0, *capital[:4]]
    depreciation = [n + o for n, o in zip(new, old_book[:5], strict=True)]
    left = [0.0, 0.0, 0.0, 0.0, sum(capital) + old_book[5] - sum(depreciation)]
    training = [trained, 0.0, 0.0, 0.0, 0.0]
    before = [resale[t] + final[t] - capital[t] - training[t] - running[t] for t in range(5)]
    tax = [TAX * (running[t] + training[t] + depreciation[t] + left[t] - resale[t] - final[t]) for t in range(5)]
    after = [before[t] + tax[t] for t in range(5)]
    added = [0.0, *np.sum([m["added labour"], m["added press"], m["added room"]], axis=0)]
    after_full = [after[t] - added[t] * (1 - TAX) for t in range(5)]
    annuity = sum(DISCOUNT[1:])
    plates = 7 * K * sum(VOLUME[y - 1] * DISCOUNT[y] for y in Y)
    years = plates / (7 * K)
    for key, flow in (("", after), ("_full", after_full)):
        cost = -sum(f * d for f, d in zip(flow, DISCOUNT, strict=True))
        m |= {
            f"present{key}": cost, f"equivalent{key}": cost / annuity, f"per_plate{key}": cost / plates,
            f"per_job{key}": cost / years / (3 * K), f"per_thousand{key}": cost / years / (54000 * K) * 1000,
        }  # fmt: skip
    m |= dict(
        capital=capital, resale=resale, residual=residual, depreciation=depreciation, tax=tax, before=before, after=after,
        after_full=after_full, running=running, first_cost=capital[0] + trained, running_1=running[1],
        ran=sum(r * (1 - TAX) * d for r, d in zip(running, DISCOUNT, strict=True)),
        end_value=[0.0, 0.0, 0.0, 0.0, residual * (1 - TAX) + left[4] * TAX],
    )  # fmt: skip
    m["invested"] = float(m["present"]) - float(m["ran"])  # type: ignore[arg-type]


FAMILIES = ("equipment", "consumables", "waste", "energy", "labour", "press", "room")
NOTHING = [0.0] * 4


def by_hand_old() -> dict[str, object]:
    """The old way: form C is too fine for it and bought in; the bath is changed for area first and for age later."""
    # An own plate runs 10,000 x 1.1 impressions coated, 5,000 x 1.1 uncoated; a bought-in one 20,000 x 1.1.
    a, b, c = ceil(GROSS["A"] / 11000), ceil(GROSS["B"] / 5500), ceil(GROSS["C"] / 22000)
    assert (a, b, c) == (4, 2, 1)
    large, small = 2 * a * K, 1 * b * K
    reused = 0.10 * 1 * K  # form B is a reprint: its first set only
    hung_large, hung_small = large * 1.02, (small - reused) * 1.02
    imaged_large, imaged_small = hung_large / 0.95, hung_small / 0.95
    imaged, on_press = imaged_large + imaged_small, hung_large + hung_small
    bought = 4 * c * K * 1.02 / 0.96
    area = imaged_large * 0.2 + imaged_small * 0.1
    stops, changes = (3 + 1) * K, (3 * 2 + 1 * 1) * K
    minutes_a_plate = 2 + 20 * (2 * 0.2 + 5 * 0.1) / 7

    # Chemistry and waste by year: the step is where 50 m2 a change gives way to a quarter of a year.
    areas = [area * v for v in VOLUME]
    changed = [max(s / 50, 4) for s in areas]
    used = [20 * n + 0.1 * s + 0.05 * 4 * 250 for n, s in zip(changed, areas, strict=True)]
    leaving = [0.5 * u for u in used]
    containers = [ceil(x / 20) for x in leaving]
    pickups = [max(ceil(x / 25), 2) for x in leaving]
    assert changed[1] > 4 == changed[2] and pickups == [4, 4, 3, 3]
    waste = [(n * 30 + p * 50 + 40) * g for n, p, g in zip(containers, pickups, level(0.06), strict=True)]
    chemistry = [u * 2 * g for u, g in zip(used, level(0.04), strict=True)]
    trips = [250 * (1 - (1 - 1 / 250) ** (K * v)) for v in VOLUME]
    delivery = [t * 15 * g for t, g in zip(trips, level(0.05), strict=True)]

    plates = imaged_large / 0.98 * 4 + imaged_small / 0.98 * 2
    consumables = over(
        (plates, "work", 0.03), (6 * 10, "time", 0.03), (bought * 12 + K * 10, "work", 0.05),
        (60, "time", 0.025), (changed[0] * 7, "time", 0.04),
    )  # fmt: skip
    down = (imaged_large * (20 - 4) + imaged_small * (12 - 2)) * 2 / 250
    work_hours, time_hours = imaged * 1 / 60, 250 * 12 / 60
    labour = 20 * 1.25
    wait = (imaged - on_press) * 0.6 * min(minutes_a_plate, 20) + bought * 0.04 * 0.6 * 20
    press_hours = (stops * 8 + changes * 3 + 10 * K * 2 + wait) / 60  # 10 K own plates hung, 2 minutes each
    paper = stops * 40 + 10 * K * 5
    kwh_work = imaged * minutes_a_plate * (1 - 0.2) / 60
    m: dict[str, object] = dict(
        imaged=imaged, on_press=on_press, bought=bought, area=area, all_stops=stops, press_hours=press_hours, paper=paper,
        hands_on=work_hours + time_hours, out_forms=K, remade=imaged - on_press, one_plate=minutes_a_plate,
        equipment=over((800, "time", 0.08), (down, "work", 0.05), (2 * 15, "time", 0.05)),
        consumables=[sum(x) for x in zip(consumables, chemistry, delivery, strict=True)],
        waste=waste,
        energy=over((kwh_work * 0.2, "work", 0.07), ((0.2 * 8 * 250 + 0.5 * 250) * 0.2, "time", 0.07)),
        labour=over((work_hours * labour * 0.4, "work", 0.01), (time_hours * labour * 0.4, "time", 0.01)),
        press=over((press_hours * 30, "work", 0.01), (paper * 0.05, "work", 0.025)),
        room=over((10 * 100 * 0.1, "time", 0.025)),
    )  # fmt: skip
    m |= {
        "added labour": over((work_hours * labour * 0.6, "work", 0.01), (time_hours * labour * 0.6, "time", 0.01)),
        "added press": over((press_hours * (60 - 30), "work", 0.01)),
        "added room": over((10 * 100 * 0.9, "time", 0.025)),
        "Developer, changes": changed, "Developer, used": used, "Spent, leaving": leaving, "Spent, containers": containers,
        "Spent, pickups": pickups, "Deliveries of bought-in plates": trips, "Minutes of remakes, all presses": wait,
    }  # fmt: skip
    bought_3 = 10000 * 1.02**3
    # Bought in year 3 for five years: in year 4 one year is used. 100 a year of the old book value, 200 of it left.
    residual = 10000 * 1.02**4 * (0.1 + 0.9 * (1 - 1 / 5))
    flows(m, [0, 0, 0, bought_3, 0], [0, 0, 0, 0.1 * bought_3, 0], residual, [0, 100, 100, 100, 100, 600], 0)
    return m


def by_hand_new() -> dict[str, object]:
    """The new way: makes every form; its line is bought in year 0, replaced in year 2 and not again in year 4."""
    a, b, c = ceil(GROSS["A"] / 22000), ceil(GROSS["B"] / 8800), ceil(GROSS["C"] / 22000)
    assert (a, b, c) == (2, 2, 1)
    large, small = 2 * a * K, (1 * b + 4 * c) * K
    on_press = (large + small) * 1.02
    imaged_large, imaged_small = large * 1.02 / 0.94, small * 1.02 / 0.94
    imaged = imaged_large + imaged_small
    area = imaged_large * 0.2 + imaged_small * 0.1
    stops, changes = (1 + 1) * K, (1 * 2 + 1 * 1) * K
    wait = (imaged - on_press) * 0.6 * 4
    press_hours = (stops * 8 + changes * 3 + 10 * K * 1 + wait) / 60
    paper = stops * 40
    plates = (imaged_large * 30 * 0.2 + imaged_small * 30 * 0.1) * 1.03 / 0.98
    ink = area * 0.012 * 250  # 12 mL/m2 at 0.25 a mL
    hours, labour = imaged * (2 + 0.5) / 60, 20 * 1.25
    m: dict[str, object] = dict(
        imaged=imaged, on_press=on_press, bought=0.0, area=area, all_stops=stops, press_hours=press_hours, paper=paper,
        hands_on=hours, out_forms=0.0, remade=imaged - on_press, one_plate=4.0,
        equipment=over((100, "time", 0.08), (imaged * 0.05, "work", 0.02)),
        consumables=over((plates + ink, "work", 0.03)),
        waste=NOTHING,
        energy=over((imaged * 4 * 0.5 / 60 * 0.2, "work", 0.07)),
        labour=over((hours * labour * 0.4, "work", 0.01)),
        press=over((press_hours * 30, "work", 0.01), (paper * 0.05, "work", 0.025)),
        room=NOTHING,
    )  # fmt: skip
    m |= {
        "added labour": over((hours * labour * 0.6, "work", 0.01)),
        "added press": over((press_hours * (60 - 30), "work", 0.01)),
        "added room": NOTHING,
        "Minutes of remakes, all presses": wait,
    }
    price_2 = 6000 * 1.02**2
    capital = [6000 + 300 + 500, 0, price_2, 0, 0]
    flows(m, capital, [0, 0, 0.2 * price_2, 0, 0], 6000 * 1.02**4 * 0.2, [0] * 6, 400)
    return m


HAND = {"old": by_hand_old(), "new": by_hand_new()}
CASES = [(method, name) for method, hand in HAND.items() for name in hand if not name.startswith("added ")]


@pytest.mark.parametrize(("method", "name"), CASES)
def test_a_line_is_what_the_hand_finds(miniature: tuple[Study, Values], method: str, name: str) -> None:
    """Plain arithmetic of this file; relative tolerance 1e-12, what double precision leaves of a long sum."""
    study, values = miniature
    sheet = study.methods[method]
    if name in FAMILIES:
        line = sheet.families[name]
    elif name in sheet.lines:
        line = sheet.lines[name]
    else:
        line = study.book.line(f"{method}.{name}")
    found = values[line][:, 0] if line.axis is not None else values[line]
    hand = np.atleast_1d(np.array(HAND[method][name], float))
    if line.axis is not None:
        # Years 1 to 4 leave out year 0, when nothing runs yet; nothing happens beyond the horizon.
        hand = np.concatenate([[0.0] * (5 - hand.size), hand, [0.0] * (found.size - 5)])
        if name.startswith("Developer") or name.startswith("Spent"):
            found, hand = found[1:5], hand[1:5]

    assert found == pytest.approx(hand, rel=1e-12, abs=1e-9)


def test_gross_impressions_and_sets_of_each_form(miniature: tuple[Study, Values]) -> None:
    """42,050, 9,470 and 5,450 gross; sets 4, 2, 1 (bought in) the old way and 2, 2, 1 the new."""
    study, values = miniature
    gross = values[study.shop.gross][:, 0]
    order = np.argsort(-gross)

    assert gross[order] == pytest.approx([GROSS["A"], GROSS["B"], GROSS["C"]], rel=1e-12)
    for method, sets in (("old", [4, 2, 1]), ("new", [2, 2, 1])):
        assert values[study.methods[method].lines["sets"]][order, 0].tolist() == sets


def savings(view: str) -> list[float]:
    """What the new way saves in years 0 to 4."""
    new, old = HAND["new"][view], HAND["old"][view]
    return [n - o for n, o in zip(new, old, strict=True)]  # type: ignore[call-overload]


def returned(flow: list[float], ends: list[float]) -> float:
    """Years until the sum stays at zero or above; the end value doesn't shorten the part of a year."""
    so_far = np.cumsum(flow)
    last = max(t for t in range(5) if so_far[t] < 0)
    return last + min(1.0, -so_far[last] / (flow[last + 1] - ends[last + 1]))


@pytest.mark.parametrize(("view", "flow"), [("cash", "after"), ("full", "after_full")])
def test_measures_against_the_old_way(miniature: tuple[Study, Values], view: str, flow: str) -> None:
    """Net present value, rate of return by halving, modified rate, ratio and paybacks, from the flows worked by hand."""
    study, values = miniature
    found = {name: float(values[getattr(study.cash_flow.savings["new"][view], name)][0]) for name in (
        "npv", "irr", "mirr", "ratio", "payback", "discounted_payback", "has_irr", "has_mirr", "has_ratio", "has_payback",
    )}  # fmt: skip
    saved = savings(flow)
    npv = sum(s * d for s, d in zip(saved, DISCOUNT, strict=True))
    assert saved[0] < 0 < min(saved[1:])  # so there is one rate of return

    low, high = 0.0, 10.0
    for _ in range(200):
        middle = (low + high) / 2
        worth = sum(s / (1 + middle) ** t for t, s in enumerate(saved))
        low, high = (middle, high) if worth > 0 else (low, middle)

    taken_out = sum(s * 1.1 ** (4 - t) for t, s in enumerate(saved) if s > 0)
    extra = float(HAND["new"]["invested"]) - float(HAND["old"]["invested"])  # type: ignore[arg-type]
    ends = [n - o for n, o in zip(HAND["new"]["end_value"], HAND["old"]["end_value"], strict=True)]  # type: ignore[call-overload]

    def discounted(amounts: list[float]) -> list[float]:
        return [a * d for a, d in zip(amounts, DISCOUNT, strict=True)]

    assert found == pytest.approx(
        {
            "npv": npv, "irr": low, "mirr": (taken_out / -saved[0]) ** (1 / 4) - 1, "ratio": (npv + extra) / extra,
            "payback": returned(saved, ends), "discounted_payback": returned(discounted(saved), discounted(ends)),
            "has_irr": 1, "has_mirr": 1, "has_ratio": 1, "has_payback": 1,
        },
        rel=1e-9,
    )  # fmt: skip


def test_running_costs_at_mid_year(small_shop, miniature: tuple[Study, Values]) -> None:
    """Half a year earlier means times 1.1 to the half, for running costs alone: purchases and residual stay."""
    study, values = miniature
    sheet = study.methods["old"]
    halfway = study.evaluate({"money.mid_year": 1.0})

    hand = float(HAND["old"]["invested"]) + float(HAND["old"]["ran"]) * 1.1**0.5  # type: ignore[arg-type]
    assert float(halfway[sheet.lines["present"]][0]) == pytest.approx(hand, rel=1e-12)
    assert halfway[sheet.lines["after"]].tolist() == values[sheet.lines["after"]].tolist()


def test_the_cheaper_one_is_named(miniature: tuple[Study, Values]) -> None:
    """The new way costs less by hand in both views, so it stands at place 2 and leads by the difference, less the tie."""
    study, values = miniature
    rows = study.comparison.rows
    for key in ("", "_full"):
        gap = float(HAND["old"][f"present{key}"]) - float(HAND["new"][f"present{key}"])  # type: ignore[arg-type]
        assert gap > 0
        assert float(values[rows[f"cheapest_at{key}"]][0]) == 2
        assert float(values[rows[f"saving{key}"]][0]) == pytest.approx(gap, rel=1e-12)
