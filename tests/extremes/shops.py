"""Shops at the ends of what a scenario may say: much work and hardly any, many years and one, odd money, odd dates.

Each is the invented small shop with what makes it extreme stated on top. `Shop.write` puts its files into a folder. Nothing
is worked out here. All names and figures are invented.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from roi.scenario.scenario import read
from tests.small_shop import SHOP, STILL

PLATES = "plates_per_month = { small = 300 }"
RUNS = "runs = { under_1000 = 0.4, to_5000 = 0.6 }"
ONE_A_YEAR = PLATES.replace("300", repr(1 / 12))
TEN_MILLION_A_YEAR = PLATES.replace("300", repr(1e7 / 12))
LOG = """
[log]
file = "log.csv"
date_order = "year-first"
[log.columns]
job = "Job"
date = "Date"
plates = "Plates"
impressions = "Good"
"""


@dataclass(frozen=True)
class Shop:
    """Files of a scenario by name; the scenario itself is shop.toml."""

    files: Mapping[str, str] = field(default_factory=dict)

    def write(self, folder: Path) -> Path:
        """Write the files; where the scenario stands."""
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in self.files.items():
            (folder / name).write_text(text, "utf-8")
        return folder / "shop.toml"


def small(more: str = "", *swaps: tuple[str, str]) -> Shop:
    """The small shop with texts replaced and with further tables."""
    text = SHOP
    for before, after in swaps:
        assert before in text, f"{before!r} does not stand in the small shop's file"
        text = text.replace(before, after)
    return Shop({"shop.toml": text + more})


def logged(dates: list[dt.date], spec: str = "", more: str = "") -> Shop:
    """The small shop with a job of one form for each date instead of a summary."""
    rows = [f"J{i},{date},{1 + i % 2},{200 + 700 * (i % 9)}" for i, date in enumerate(dates)]
    text = SHOP[: SHOP.index("[summary]")]
    table = LOG.replace('date_order = "year-first"', f'date_order = "year-first"\n{spec}')
    return Shop({"shop.toml": text + more + table, "log.csv": "\n".join(["Job,Date,Plates,Good", *rows])})


def days(first: str, count: int, step: int = 1) -> list[dt.date]:
    """Dates from the first one on, over `count` days."""
    start = dt.date.fromisoformat(first)
    return [start + dt.timedelta(days=i) for i in range(0, count, step)]


def money(**stated: str) -> str:
    """A table [money]."""
    return "\n[money]\n" + "".join(f'{key} = "{value}"\n' for key, value in stated.items())


def many_sizes(count: int) -> Shop:
    """As many plate sizes, a few millimetres apart, with equal shares of the work."""
    names = [f"s{i}" for i in range(count)]
    sizes = "\n".join(f'{name} = "{200 + i} mm x {250 + i} mm"' for i, name in enumerate(names))
    work = ", ".join(f"{name} = {3 + i % 5}" for i, name in enumerate(names))
    return small(
        "", ('small = "330 mm x 492 mm"', sizes), (PLATES, f"plates_per_month = {{ {work} }}")
    )  # fmt: skip


def many_presses(count: int) -> Shop:
    """As many presses, of which one has all the work."""
    tables = [
        f'[presses.p{i}]\nlabel = "Press {i}"\nprinting_units = {1 + i % 4}\n' for i in range(count - 1)
    ]
    return small("\n" + "".join(tables))


def many_methods(count: int, more: str = "") -> Shop:
    """As many methods: the small shop's two, other shipped ones, and dearer variants of the direct one."""
    shipped = ["processed", "bought_in", "gum_only", "on_press", "polyester_dry", "short_runs_digital"]
    tables = [f"[methods.{name}]\n" for name in shipped]
    for i in range(count - 2 - len(shipped)):
        tables.append(
            f'[methods.v{i}]\nsame_as = "direct"\nlabel = "Direct {i}"\nshort = "Direct {i}"\n'
            f'plates.price_per_area = "{20 + i} USD/m2"\n'
        )
    return small("\n" + "\n".join(tables[: count - 2]) + more)


def in_currency(code: str, per_dollar: float, more: str = "") -> Shop:
    """The small shop in another currency, all its prices turned from the shipped ones."""
    return small(more, ('currency = "USD"', f'currency = "{code}"\nper_dollar = {per_dollar}'))


def free(folder: Path) -> Shop:
    """The small shop with every amount of money nought: a variant of it that states each one, with its unit."""
    scenario = read(small().write(folder))
    lines = [
        f'{stated.key} = "0 {stated.shown}"'
        for stated in scenario.inputs.values()
        if "currency" in str(stated.unit) and not stated.key.startswith("money.")
    ]
    variant = 'schema = 1\nbased_on = "base.toml"\n' + "\n".join(lines) + "\n"
    return Shop({"shop.toml": variant, "base.toml": small().files["shop.toml"]})


def extremes(folder: Path) -> dict[str, Shop]:
    """The extreme shops that are cheap enough for every run, by what is extreme; `folder` is scratch."""
    one_job = [dt.date(2024, 2, 29)]
    short = RUNS, "runs = { under_1000 = 1 }"
    return {
        "usual": small(),
        "one plate a year": small("", (PLATES, ONE_A_YEAR)),
        "ten million plates a year": small("\n[methods.bought_in]\n", (PLATES, TEN_MILLION_A_YEAR)),
        "one year": small(money(horizon="1 year")),
        "forty years": small(money(horizon="40 year")),
        "forty years, one plate a year": small(money(horizon="40 year"), (PLATES, ONE_A_YEAR)),
        "no tax, no discounting, no growth": small(
            money(tax_rate="0 %", discount_rate="0 %/year", inflation="0 %/year", tax_schedule="none") + STILL
        ),
        "negative discount rate": small(money(discount_rate="-5 %/year", horizon="12 year")),
        "least discount rate over forty years": small(money(discount_rate="-20 %/year", horizon="40 year")),
        "highest rates": small(money(discount_rate="100 %/year", tax_rate="90 %", inflation="50 %/year")),
        "work that dwindles": small('\n[growth]\nvolume = "-50 %/year"\n' + money(horizon="40 year")),
        "work that grows by half each year": small('\n[growth]\nvolume = "50 %/year"\n'),
        "forty sizes": many_sizes(40),
        "twelve presses": many_presses(12),
        "ten methods": many_methods(10),
        "all free": free(folder / "free"),
        "no decimals": in_currency("JPY", 150.0),
        "three decimals": in_currency("KWD", 0.31),
        "one colour": small("", (RUNS, RUNS + '\ncolours = { "1" = 1 }')),
        "short runs only": small("", short),
        "one job on 29 February": logged(one_job),
        "two jobs on one day": logged(one_job * 2),
        "seven weeks": logged(days("2025-03-03", 49)),
        "400 days": logged(days("2024-01-15", 400, 3)),
        "over 29 February": logged(days("2024-02-29", 366, 2)),
        "leap year": logged(days("2024-01-01", 366, 2), "from = 2024-01-01\nto = 2024-12-31"),
        "year begins in February": logged(days("2024-02-29", 200, 2), "", "\n[money]\nyear_begins = 2\n"),
    }
