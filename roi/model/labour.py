"""Hands-on time: tasks in minutes a driver, by grade, at the loaded rate; cash only as far as freed time turns into money."""

from __future__ import annotations

from roi.engine.column import Line
from roi.model.sheet import MethodSheet, Used, add
from roi.model.shop import MINUTES


def add_labour(sheet: MethodSheet) -> None:
    """Tasks, then money by grade in both views. Needs the stations' hours."""
    column, shop = sheet.column, sheet.shop
    column.heading("Labour", "Hands-on minutes only; waiting while a machine works is not labour.")
    for name in sheet.names("tasks"):
        amount, follows = sheet.by_driver(sheet.text("tasks", name, "driver"))
        minutes = amount * sheet.inp("tasks", name, "minutes")
        hours = column.line(f"{sheet.label('tasks', name)}, hours", "h/year", minutes / MINUTES)
        sheet.hours.append((sheet.text("tasks", name, "grade"), follows, hours))
    everything: list[Line] = []
    paid: dict[str, list[tuple[Line, Line]]] = {"work": [], "time": []}
    for grade in dict.fromkeys(g for g, _, _ in sheet.hours):
        label = sheet.scenario.text("grades", grade, "label", default=grade)
        for follows, words in (("work", "with the work"), ("time", "with time")):
            parts = [h for g, f, h in sheet.hours if g == grade and f == follows]
            if not parts:
                continue
            hours = column.line(f"{label}, hours {words}", "h/year", add(parts))
            full = column.line(f"{label} {words}, full cost", "currency/year", hours * shop.wage[grade])
            cash = column.line(
                f"{label} {words}, cash",
                "currency/year",
                full * shop.inp(column, "grades", grade, "cash_share"),
            )
            sheet.cost("labour", "wages", follows, cash, full)
            sheet.used.append(Used(f"{label}, hands-on {words}", follows, hours))
            everything.append(hours)
            freed = column.line(
                f"{label} {words}, hours that turn into money",
                "h/year",
                hours * shop.inp(column, "grades", grade, "cash_share"),
            )
            paid[follows].append((freed, cash))
    for follows, pairs in paid.items():
        if pairs:
            words = "with the work" if follows == "work" else "with time"
            sheet.lines[f"paid_hours.{follows}"] = column.line(
                f"Hours that turn into money, {words}", "h/year", add([hours for hours, _ in pairs])
            )
            sheet.lines[f"paid_wages.{follows}"] = column.line(
                f"Wages of those hours, {words}", "currency/year", add([wages for _, wages in pairs])
            )
    if everything:
        sheet.lines["hands_on"] = column.line("Hands-on hours, all grades", "h/year", add(everything))
