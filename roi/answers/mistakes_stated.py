"""Mistakes in what is stated: figures that nothing uses, what comes after the years looked ahead, a limit that moves no work."""

from __future__ import annotations

from collections.abc import Iterator

from roi.answers.case import Case
from roi.answers.cases import inputs_in_use
from roi.model.plate_kinds import is_counted
from roi.scenario.problems import Problem

# Stated for rules like these and for budgets, not for the reckoning.
_ELSEWHERE = ("new_life", "support_left", "capitalise_above", "vat_rate", "vat_unrecovered")


def stated_for_nothing(case: Case) -> Iterator[Problem]:
    """A figure somebody stated that no line uses, such as changing over to the method in use today."""
    used = {stated.key for stated in inputs_in_use(case.study)}
    for stated in case.study.scenario.inputs.values():
        if not stated.default and stated.key not in used and stated.key.split(".")[-1] not in _ELSEWHERE:
            yield Problem(
                stated.where,
                f'"{stated.label}" is stated, but nothing here uses it',
                "state what it goes with (see roi/data/catalogue.toml), or leave it out",
            )


def after_the_years(case: Case) -> Iterator[Problem]:
    """A step in price or a supplier's stop that lies beyond the years looked ahead, so that it changes nothing."""
    years = case.at(case.study.shop.horizon)
    for stated in case.study.scenario.inputs.values():
        parts = stated.key.split(".")
        late = stated.best * stated.factor > years
        if late and (parts[-1] == "stops" or (parts[0] == "price_steps" and parts[-1] == "year")):
            yield Problem(
                stated.where,
                f"year {stated.best:g} lies beyond the {years:g} years looked ahead",
                "look further ahead ([money] horizon), or leave it out",
            )


def nothing_goes_elsewhere(case: Case) -> Iterator[Problem]:
    """Short runs are to go to a digital press, but no form is that short."""
    for sheet in case.sheets:
        goes = sheet.lines.get("elsewhere.goes")
        if goes is not None and not (case.values[goes][:, 0] * sheet.work.bin_forms.values).any():
            yield Problem(
                case.where("methods", sheet.method.id, "elsewhere", "up_to"),
                "no form is short enough to go there: the method costs what it costs without",
                "raise up_to; in a summary, runs under 1,000 stand for 500",
            )


def idles_above_running(case: Case) -> Iterator[Problem]:
    """A station that takes more power standing by than with a plate in it."""
    for sheet in case.sheets:
        for name in sheet.names("stations"):
            here = ("methods", sheet.method.id, "stations", name)
            idle, running = case.best(*here, "power_idle"), case.best(*here, "power_running")
            if idle and running and idle > running:
                yield Problem(
                    case.where(*here, "power_idle"),
                    f"{sheet.label('stations', name)} takes {idle:g} kW standing by and {running:g} kW running",
                    "read both from the meter or the data plate; standing by is less",
                )


FEW = 50.0  # forms a year that a press may change plates for without anybody noticing


def switching_left_out(case: Case) -> Iterator[Problem]:
    """Presses change to another kind of plate for forms bought in, and that isn't among the costs."""
    if is_counted(case.study.scenario):
        return
    forms = {
        sheet.method.short: case.at(sheet.lines["out_forms"])
        for sheet in case.sheets
        if sheet.method.makes_plates and case.at(sheet.lines["feasible"]) >= 1
    }
    told = [f"{count:,.0f} with {short}" for short, count in forms.items() if count > FEW]
    if told:
        yield Problem(
            case.where("shop", "count_switches"),
            f"forms bought in make presses change to another kind of plate, which isn't counted: {', '.join(told)} a year",
            "state count_switches = true in [shop] to count packing and fountain solution; roi mix tells what it comes to",
        )


__all__ = [
    "after_the_years",
    "idles_above_running",
    "nothing_goes_elsewhere",
    "stated_for_nothing",
    "switching_left_out",
]
