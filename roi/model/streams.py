"""What a waste stream costs in each year, and whether it stands at or beyond a limit of the rules named.

Volumes in L/year, money positive in currency, silver received for negative. Waste leaves in whole containers and pickups,
which never fall when volume rises; registration, tests and papers are paid whatever leaves. Limits are those of the rule
file, judged only where pH or silver is stated: whether a waste is hazardous is settled by test and by the authority.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from roi.engine.column import Line
from roi.engine.expression import Axis, Data, Expr
from roi.engine.operations import at, at_least, constant, larger, opposite, smaller, up, when
from roi.model.sheet import MethodSheet, Used, add

_MILLIGRAMS = constant(1000, "mg/g")
_YEARLY = {"yearly": "tests and papers", "registration": "registration", "tests": "tests"}
_ONE = Axis("limit", ("the limit",))


@dataclass
class Leaving:
    """What runs into a stream: litres, blocks by year; time, litres a year that would leave without any work."""

    litres: list[Line] = field(default_factory=list)
    time: list[Expr] = field(default_factory=list)


@dataclass
class StreamBill:
    """money, silver : blocks by year, silver negative;  time : of a year's money, what follows time (currency/year)."""

    money: list[Line] = field(default_factory=list)
    silver: list[Line] = field(default_factory=list)
    time: list[Line] = field(default_factory=list)


def add_stream(sheet: MethodSheet, name: str, leaving: Leaving) -> StreamBill:
    """One stream's lines: fees of the year, litres, containers, pickups, papers, silver, limits."""
    bill, label, here = StreamBill(), sheet.label("streams", name), ("streams", name)
    column, shop = sheet.column, sheet.shop
    fees = [key for key in _YEARLY if sheet.has(*here, key)]
    for key in fees:
        yearly = sheet.inp(*here, key) * shop.operating * shop.growth["waste"]
        bill.money.append(column.line(f"{label}, {_YEARLY[key]}", "currency", yearly.during("year")))
    if sheet.has(*here, "hours"):
        hours = column.line(f"{label}, hours of paperwork", "h/year", sheet.inp(*here, "hours") * 1)
        sheet.hours.append((sheet.text(*here, "grade"), "time", hours))
    if sheet.has("last_year", "waste") and fees:
        bill.time.append(
            column.line(
                f"{label}, fees of the year, money that follows time",
                "currency/year",
                add([sheet.inp(*here, key) for key in fees]),
            )
        )
    if leaving.litres:
        _Billed(sheet, name, leaving, bill).write()
    return bill


class _Billed:
    """A stream that something runs into."""

    def __init__(self, sheet: MethodSheet, name: str, leaving: Leaving, bill: StreamBill) -> None:
        self.sheet, self.here, self.bill, self.leaving = sheet, ("streams", name), bill, leaving
        self.label, self.column, self.shop = sheet.label(*self.here), sheet.column, sheet.shop
        code = sheet.text(*self.here, "code")
        self.litres = self._line("leaving", "L/year", add(leaving.litres), f"code {code}" if code else "")

    def _line(self, words: str, unit: str, body: Expr, note: str = "") -> Line:
        return self.column.line(f"{self.label}, {words}", unit, body, note=note)

    def _has(self, key: str) -> bool:
        return self.sheet.has(*self.here, key)

    def _inp(self, key: str) -> Line:
        return self.sheet.inp(*self.here, key)

    def write(self) -> None:
        mass = self._line(
            "mass leaving", "kg/year", self.litres * self.sheet.shop_inp("shop", "waste_density")
        )
        self.sheet.used += [
            Used(f"{self.label}, leaving as waste", "year", self.litres),
            Used(f"{self.label}, mass of waste", "year", mass),
        ]
        by_volume, volume_today = self._by_volume()
        pickups = self._pickups()
        money: Expr = by_volume
        if pickups is not None and self._has("pickup_fee"):
            money = money + pickups[0] * self._inp("pickup_fee")
        growth = self.shop.growth["waste"]
        self.bill.money.append(self._line("money", "currency", (money * growth).during("year")))
        if pickups is not None:
            self._papers(pickups[0])
        if self.leaving.time and self.sheet.has("last_year", "waste"):
            self._time(volume_today, pickups)
        self._silver()
        self._counts()

    def _by_volume(self) -> tuple[Expr, Expr]:
        """What litres or whole containers cost: by year, and in year 1 at today's prices, both in currency/year."""
        if self._has("price"):
            return self.litres * self._inp("price"), at(self.litres, 1) * self._inp("price")
        per_container = self.litres / self._inp("container")
        whole = _whole(per_container, "container/year")
        containers = self._line("containers", "container/year", whole, "whole ones")
        return containers * self._inp("container_price"), at(containers, 1) * self._inp("container_price")

    def _pickups(self) -> tuple[Line, Line | None] | None:
        """Pickups by year and those that the keeping time alone wants; None where nothing hangs on them."""
        if not any(self._has(key) for key in ("pickup_fee", "manifest", "pickup_hours")):
            return None
        whole = _whole(self.litres / self._inp("pickup_capacity"), "pickup/year")
        taken = self._line("pickups for volume", "pickup/year", whole)
        pickups: Expr = taken
        for_age = None
        if self._has("keeping"):
            # Without waste nobody comes, however long it may be kept.
            any_at_all = smaller(constant(1, "pickup/year"), taken)
            kept = _whole(constant(1, "1") / self._inp("keeping"), "pickup/year")
            for_age = self._line("pickups for keeping time", "pickup/year", kept)
            pickups = larger(taken, for_age * any_at_all.per("pickup").during("year"))
        return self._line("pickups", "pickup/year", pickups, "whole; none without waste"), for_age

    def _papers(self, pickups: Line) -> None:
        """Manifests, and hours of paperwork at a pickup, which are reckoned at the first year's count."""
        if self._has("manifest"):
            paid = pickups * self._inp("manifest") * self.shop.growth["waste"]
            self.bill.money.append(self._line("manifests", "currency", paid.during("year")))
        if self._has("pickup_hours"):
            hours = self._line(
                "hours of paperwork at pickups", "h/year", at(pickups, 1) * self._inp("pickup_hours")
            )
            self.sheet.hours.append((self.sheet.text(*self.here, "grade"), "time", hours))

    def _time(self, volume_today: Expr, pickups: tuple[Line, Line | None] | None) -> None:
        """Of year 1, at today's prices, what would be paid without any work."""
        litres, alone = at(self.litres, 1), add(self.leaving.time)
        share = self._line(
            "share that follows time",
            "1",
            when(at_least(0, litres), 0, alone / litres),
            "of the litres of year 1",
        )
        self.bill.time.append(
            self._line("by volume, money that follows time", "currency/year", volume_today * share)
        )
        fees = [self._inp(key) for key in ("pickup_fee", "manifest") if self._has(key)]
        if pickups is None or not fees:
            return
        # A pickup for keeping time is owed to the calendar, whatever fills it.
        owed: Expr = at(pickups[0], 1) * share
        if pickups[1] is not None:
            owed = smaller(at(pickups[0], 1), larger(owed, pickups[1]))
        count = self._line("pickups that follow time", "pickup/year", owed)
        self.bill.time.append(
            self._line("pickups, money that follows time", "currency/year", count * add(fees))
        )

    def _silver(self) -> None:
        if not self._has("silver_credit"):
            return
        body = self.litres * self._inp("silver") * self._inp("silver_recovered")
        grams = self._line("silver recovered", "g/year", body)
        self.sheet.used.append(Used(f"{self.label}, silver recovered", "year", grams))
        paid = grams * self._inp("silver_credit") * self.shop.growth["general"]
        self.bill.silver.append(self._line("silver, money", "currency", 0 - paid.during("year")))

    def _counts(self) -> None:
        """Litres that may be hazardous: as stated, by the code's asterisk, or live by a limit of the rules."""
        beyond = self._limits()
        if _may_be_hazardous(self.sheet, self.here):
            self.sheet.hazardous.append(self.litres)
        elif beyond is not None:
            self.sheet.hazardous.append(self._line("counts as hazardous", "L/year", self.litres * beyond))

    def _limits(self) -> Line | None:
        """1 where a limit is reached; None where the rules draw none or nothing is stated to judge."""
        rules, flags = self.sheet.scenario.waste, []
        if rules.ph is not None and self._has("ph"):
            ph = self._inp("ph")
            low = self._limit("corrosive at this pH or less", "1", rules.ph[0])
            high = self._limit("corrosive at this pH or more", "1", rules.ph[1])
            within = opposite(at_least(low, ph)) * opposite(at_least(ph, high))
            flags.append(self._judged("at or beyond the limit of corrosivity, by pH", opposite(within)))
        if rules.silver is not None and self._has("silver"):
            silver = self._line("silver in it", "mg/L", self._inp("silver") * _MILLIGRAMS)
            limit = self._limit("limit of silver", "mg/L", rules.silver)
            flags.append(self._judged("at or beyond the limit of silver", at_least(silver, limit)))
        if len(flags) < 2:
            return flags[0] if flags else None
        none = opposite(flags[0]) * opposite(flags[1])
        return self._judged("at or beyond a limit", opposite(none))

    def _limit(self, words: str, unit: str, value: float) -> Expr:
        key = f"{self.column.key}.{'.'.join(self.here)}.{words}"
        return at(self.column.data(Data(key, f"{self.label}, {words}", unit, _ONE, [value])), 0)

    def _judged(self, words: str, flag: Expr) -> Line:
        source = self.sheet.scenario.waste.limits_source
        note = "1 yes, 0 no; the test and the authority decide"
        return self.column.line(f"{self.label}, {words}", "1", flag, note=note, source=source)


def _may_be_hazardous(sheet: MethodSheet, here: tuple[str, str]) -> bool:
    """Stated as hazardous or to be tested, or hazardous by the asterisk of its code."""
    raw = sheet.scenario.plain("methods", sheet.method.id, *here, "hazardous", default=False)
    return raw in (True, "test", "yes") or sheet.text(*here, "code").endswith("*")


def _whole(amount: Expr, unit: str) -> Expr:
    """The next whole number of something counted a year."""
    what = unit.split("/")[0]
    return up(amount.per(what).during("year")).during(what).per("year")
