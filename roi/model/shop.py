"""What is the same for every method: the years and their money, wages, the presses' hours, the work's gross impressions.

Prices grow from year 0; volume is that of the log in year 1. Rates are a year's, money is in currency.
"""

from __future__ import annotations

from dataclasses import dataclass

from roi.engine.column import Column, Line
from roi.engine.expression import Axis, Data, Expr
from roi.engine.operations import at, at_least, compound, constant, gather, opposite, product_sum, total, when
from roi.model.calendar_year import Months, add_months
from roi.model.tables import WorkTables
from roi.scenario.scenario import Scenario

ROWS = 10  # years written after year 0: the horizon is live up to here
MINUTES = constant(60, "min/h")
MONTHS, ONE_MONTH = constant(12, "month"), constant(1, "month")


@dataclass
class Shop:
    """The shop's lines that methods refer to."""

    scenario: Scenario
    work: WorkTables
    column: Column
    years: Axis
    year: Data
    after_now: Data
    first_year: Data
    next_year: Data
    year_before: Data
    schedule: Data | None
    capital_position: Data | None
    horizon: Line
    in_horizon: Line
    operating: Line
    last_year: Line
    rate: Line
    discount: Line
    discount_running: Line
    annuity: Line
    volume: Line
    growth: dict[str, Line]
    price_share: dict[str, Line]
    worth: dict[str, dict[str, Line]]
    months: Months
    wage: dict[str, Line]
    cash_share: dict[str, Line]
    work_days: Line
    gross: Line
    press_speed: Line
    press_cash: Line
    press_full: Line
    press_use: Line
    press_state: Line
    plates_called: Line
    plates_a_month: Line
    forms: Line
    jobs: Line
    good: Line
    plates_discounted: Line
    mean_area: Line

    def inp(self, column: Column, *key: str) -> Line:
        """A shop-wide input, fetched into a column."""
        return column.input(self.scenario.input(*key))


def shop_column(scenario: Scenario, work: WorkTables) -> Shop:
    """Build the shop's column."""
    column = Column(
        "Shop", "shop", note="What is the same for every method: years, prices, wages, presses, work."
    )

    def inp(*key: str) -> Line:
        return column.input(scenario.input(*key))

    column.heading("Years", "Year 0 is the switch; running costs begin in year 1.")
    horizon_input = scenario.inputs[("money", "horizon")]
    rows = max(
        ROWS,
        round(horizon_input.best * horizon_input.factor),
        round(horizon_input.high * horizon_input.factor),
    )
    years = Axis("years", tuple(f"year {y}" for y in range(rows + 1)))
    year = column.data(Data("shop.year", "Year", "year", years, range(rows + 1)))
    after_now = column.data(Data("shop.after", "After year 0", "1", years, [0.0] + [1.0] * rows, flag=True))
    first_year = column.data(
        Data("shop.first", "Year 1", "1", years, [float(y == 1) for y in range(rows + 1)], flag=True)
    )
    following = [float(min(y + 2, rows + 1)) for y in range(rows + 1)]
    next_year = column.data(Data("shop.next", "Place of the year to come", "1", years, following))
    earlier = [float(max(y, 1)) for y in range(rows + 1)]
    year_before = column.data(Data("shop.before", "Place of the year before", "1", years, earlier))
    since_first = column.data(Data("shop.since", "Years since year 1", "year", years, [0.0, *range(rows)]))
    horizon = inp("money", "horizon")
    in_horizon = column.line(
        "Within the years looked ahead", "1", at_least(horizon, year), note="0 beyond the horizon"
    )
    operating = column.line("Year of operation", "1", in_horizon * after_now)
    last_year = column.line("Last year", "1", in_horizon * at_least(year, horizon))
    volume = column.line(
        "Volume of work against the log",
        "1",
        operating * compound(inp("growth", "volume"), since_first) * inp("work", "volume"),
        note="year 1 is the log's year times its share; jobs scale, the mix stays",
    )

    column.heading("Money over time")
    stated, inflation = inp("money", "discount_rate"), inp("money", "inflation")
    # Fisher: a rate without inflation becomes one with it.
    with_inflation = column.line(
        "Stated rate with inflation added",
        "1/year",
        stated + inflation + (stated * inflation).during("year"),
        note="(1 + real)(1 + inflation) - 1",
    )
    rate = column.line(
        "Nominal discount rate",
        "1/year",
        when(at_least(inp("money", "rate_is_real"), 1), with_inflation, stated),
    )
    discount = column.line("Discount factor", "1", 1 / compound(rate, year), note="year 0 is not discounted")
    half = column.line("Part of a year running costs come earlier", "year", inp("money", "mid_year") / 2)
    lead = column.line("Factor for coming earlier", "1", compound(rate, half))
    discount_running = column.line("Discount factor of running costs", "1", discount * lead * operating)
    discount_operating = column.line("Discount factor in years of operation", "1", discount * operating)
    annuity = column.line(
        "Sum of discount factors",
        "1",
        total(discount_operating),
        note="a present cost divided by this is the level yearly payment worth the same",
        source="10 CFR 436.22: capital recovery",
    )
    growth: dict[str, Line] = {}
    price_share: dict[str, Line] = {}
    for name in [n for n in scenario.names("growth") if n != "volume"]:
        level = compound(inp("growth", name), year)
        if scenario.has("prices", name):
            price_share[name] = inp("prices", name)
            level = level * price_share[name]
        if scenario.has("price_steps", name, "change"):
            since = column.line(
                f"Price of {name.replace('_', ' ')} has stepped",
                "1",
                at_least(year, inp("price_steps", name, "year")),
            )
            share: Expr = since
            if scenario.has("price_steps", name, "month"):
                # A rise within a year counts for the months that are left of it.
                begins = column.line(
                    f"Year of the step in {name.replace('_', ' ')}",
                    "1",
                    since * at_least(inp("price_steps", name, "year"), year),
                )
                share = since - begins * (inp("price_steps", name, "month") - ONE_MONTH) / MONTHS
            level = level * (1 + inp("price_steps", name, "change") * share)
        growth[name] = column.line(f"Price level, {name.replace('_', ' ')}", "1", level)
    growth["general"] = column.line("Price level, general", "1", compound(inflation, year))
    worth = _worth(column, volume, discount_running, growth)

    column.heading("Months of year 1")
    months = add_months(scenario, column, scenario.work.month_share.tolist())
    schedule, position = _schedule(scenario, column, rows)

    column.heading("Wages")
    wage: dict[str, Line] = {}
    cash_share: dict[str, Line] = {}
    for grade in scenario.grades:
        label = scenario.text("grades", grade, "label", default=grade)
        wage[grade] = column.line(
            f"{label}, loaded rate",
            "currency/h",
            inp("grades", grade, "wage") * (1 + inp("grades", grade, "on_cost")),
        )
        cash_share[grade] = inp("grades", grade, "cash_share")

    column.heading("Work of a year", "From the Work sheet, before growth.")
    run_length = inp("work", "run_length")
    sheets = [inp("shop", f"sheets_{n}_colour") for n in ("one", "two", "four")]
    waste = inp("shop", "running_waste")
    # A sheet through the press is an impression.
    per_form = [(s.per("sheet").during("form")).during("impression") for s in sheets]
    gross = column.line(
        "Gross impressions of a form",
        "impression",
        work.good * run_length * (1 + waste)
        + work.colours[0] * per_form[0]
        + work.colours[1] * per_form[1]
        + work.colours[2] * per_form[2],
        note="good ones, running waste and make-ready sheets",
    )
    plates_by_size = column.line(
        "Plates called for", "plate/year", gather(work.sizes, [total(plates) for plates in work.plates])
    )
    plates_called = column.line("Plates called for, all sizes", "plate/year", total(plates_by_size))
    plates_a_month = column.line(
        "Plates called for a month, in year 1",
        "plate/month",
        plates_called * at(volume, 1) / constant(12, "month/year"),
        note="what the forms call for, before sets, remakes and reuse",
    )
    # Of the plates called for, not those imaged: it stays defined where nothing is within reach.
    mean_area = column.line(
        "Mean area of a plate", "m2/plate", product_sum(plates_by_size, work.area) / plates_called
    )
    forms = column.line("Forms", "form/year", total(work.forms))
    jobs = column.line("Jobs", "job/year", at(work.totals, 0).during("job"))
    good = column.line(
        "Good impressions of all forms",
        "impression/year",
        at(work.totals, 1).during("impression") * run_length,
    )
    plates_discounted = column.line(
        "Plates called for, discounted",
        "plate",
        (plates_called * product_sum(volume, discount)).during("year"),
        note="the count by which costs a plate are divided",
    )

    presses = _press_lines(scenario, work, column, sheets, waste, run_length)
    return Shop(
        scenario=scenario,
        work=work,
        column=column,
        years=years,
        year=year,
        after_now=after_now,
        first_year=first_year,
        next_year=next_year,
        year_before=year_before,
        schedule=schedule,
        capital_position=position,
        horizon=horizon,
        in_horizon=in_horizon,
        operating=operating,
        last_year=last_year,
        rate=rate,
        discount=discount,
        discount_running=discount_running,
        annuity=annuity,
        volume=volume,
        growth=growth,
        price_share=price_share,
        worth=worth,
        months=months,
        wage=wage,
        cash_share=cash_share,
        work_days=inp("shop", "work_days"),
        gross=gross,
        press_speed=presses["speed"],
        press_cash=presses["cash"],
        press_full=presses["full"],
        press_use=presses["use"],
        press_state=presses["state"],
        plates_called=plates_called,
        plates_a_month=plates_a_month,
        forms=forms,
        jobs=jobs,
        good=good,
        plates_discounted=plates_discounted,
        mean_area=mean_area,
    )


def _worth(
    column: Column, volume: Line, discount: Line, growth: dict[str, Line]
) -> dict[str, dict[str, Line]]:
    """By price group and by what a cost follows ("work", "time"): what 1 a year over all the years is worth today."""
    column.heading(
        "Present worth of a yearly cost",
        "What 1 a year, at prices of year 0, comes to over the years in money of today.",
    )
    with_work = column.line("Discount factor of costs that follow the work", "1", volume * discount)
    found: dict[str, dict[str, Line]] = {}
    for name, level in growth.items():
        prices = f"{name.replace('_', ' ')} prices"
        found[name] = {
            "work": column.line(
                f"Present worth, {prices}, with the work",
                "year",
                product_sum(level, with_work).during("year"),
            ),
            "time": column.line(
                f"Present worth, {prices}, with time", "year", product_sum(level, discount).during("year")
            ),
        }
    return found


def _schedule(scenario: Scenario, column: Column, rows: int) -> tuple[Data | None, Data | None]:
    """The tax schedule stored last year first, and where in the capital block each of those years is found.

    With as many empty years before the switch as the schedule is long, depreciation of every purchase is one product-sum.
    """
    tax = scenario.tax
    shares = tax.shares[:rows]  # a balance goes on for longer than any year written
    if not shares:
        return None, None
    column.heading("Tax schedule", f"{tax.label}. {tax.source}. {tax.caution}")
    count = len(shares)
    back = Axis("schedule", tuple(f"{count - i} years after purchase" for i in range(count)))
    schedule = column.data(Data("shop.schedule", "Share of cost relieved", "1", back, shares[::-1]))
    padded = Axis("padded years", tuple(f"year {y - count}" for y in range(count + rows + 1)))
    found = [float(max(0, y - count + 1)) for y in range(count + rows + 1)]
    position = column.data(
        Data("shop.position", "Place among the years (0 before the switch)", "1", padded, found)
    )
    return schedule, position


def _press_lines(
    scenario: Scenario, work: WorkTables, column: Column, sheets: list[Line], waste: Line, run_length: Line
) -> dict[str, Line]:
    """How full each press is, and what an hour of it is worth in either view."""
    column.heading("Presses", "How full each press is decides what one of its hours is worth in cash.")

    def each(name: str, label: str, unit: str) -> Line:
        rows = [column.input(scenario.input("presses", p.id, name)) for p in scenario.presses]
        return column.line(label, unit, gather(work.presses, rows))

    one, two, four = work.press_forms
    made_ready = column.line(
        "Make-ready sheets of a year",
        "sheet/year",
        one * sheets[0] + two * sheets[1] + four * sheets[2],
    )
    impressions = column.line(
        "Impressions, waste included",
        "impression/year",
        work.press_impressions * run_length * (1 + waste) + made_ready.per("sheet").during("impression"),
    )
    passes = column.line("Make-readies", "pass/year", gather(work.presses, [total(p) for p in work.passes]))
    speed = each("speed", "Running speed", "impression/h")
    minutes = each("make_ready", "Make-ready a pass", "min/pass")
    staffed = each("staffed", "Hours staffed", "h/year")
    share = column.input(scenario.input("work", "volume"))
    hours = column.line(
        "Hours needed", "h/year", (impressions / speed + passes * minutes / MINUTES) * share, note="in year 1"
    )
    use = column.line("Use of the hours staffed", "1", hours / staffed)
    low, high = (
        column.input(scenario.input("shop", "spare_below")),
        column.input(scenario.input("shop", "sold_out_above")),
    )
    judged = column.line(
        "State judged from use",
        "1",
        1 + at_least(use, low) + opposite(at_least(high, use)) * at_least(use, low),
        note="1 spare hours, 2 overtime, 3 sold out",
    )
    stated = each("state", "State as stated", "1")
    state = column.line("State of the press", "1", when(at_least(stated, 1), stated, judged))
    overtime = each("overtime", "Overtime with on-costs", "currency/h")
    contribution = each("contribution", "Contribution of an hour sold", "currency/h")
    overtime_paid = column.line(
        "Hour worth if overtime is saved", "currency/h", when(at_least(state, 2), overtime, 0)
    )
    # Sold out is the third state: two steps past spare.
    sold_out = column.line("Sold out", "1", at_least(state - 1, 2))
    cash = column.line(
        "Value of a press hour, cash",
        "currency/h",
        when(sold_out, contribution, overtime_paid),
        note="nothing while hours are spare; the overtime wage; the contribution when sold out",
    )
    full = each("full_rate", "Value of a press hour, full cost", "currency/h")
    return dict(speed=speed, cash=cash, full=full, use=use, state=state)
