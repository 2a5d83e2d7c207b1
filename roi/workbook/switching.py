"""The Switching sheet: how far each input alone must go before another method is the cheapest, as delivered.

Only this program can search for the values, so they are data; the change they take from what Inputs says now is live.
"""

from __future__ import annotations

from decimal import Decimal

from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.switching import Switch, Switching, switching_values
from roi.answers.switching_words import sentences, turning_points
from roi.engine.column import Line
from roi.engine.evaluate import Values
from roi.engine.expression import Input
from roi.workbook.cells import fit_label, put_formula, put_label, put_number, put_text, spoken_lines
from roi.workbook.front import Front
from roi.workbook.inputs import HIGH, LOW, VALUE
from roi.workbook.placing import HEAD
from roi.workbook.styles import number_format, set_up_page

_LABEL = 54
_LINE = 125  # characters that fit across the page
_HEADS = (
    "Input", "Unit", "As delivered", "Now", "Switching value, as delivered", "There", "Cheapest then",
    "Change needed from now, % of now", "Change needed from now, % of own range",
)  # fmt: skip
_WIDTHS = (_LABEL, 16, 12, 12, 13, 12, 16, 13, 13)
_NOTE = (
    "The switching value is the value itself (HM Treasury, The Green Book, on sensitivity analysis); beside it the change it "
    "takes."
)
LOW_END, HIGH_END = " (low)", " (high)"  # how the keys of ends end
DELIVERED = "Inputs changed since this was worked out"


def write_switching(sheet: Worksheet, front: Front) -> None:
    """Write the sheet; Inputs and Changes must be written."""
    found = switching_values(front.study)
    put_text(sheet, 1, 1, "Switching: how far an input must go to turn the answer", "Headline")
    put_text(sheet, 2, 1, _NOTE, "Note")
    row = HEAD
    said = [*sentences(front.study, found), turning_points(front.study, found)]
    for i, text in enumerate(said):
        row = tell(sheet, row, text, "Said" if i else "Strong")
    row = delivered(sheet, front, row, "roi switching")
    row += 1
    sheet.row_dimensions[row].height = 56
    for i, head in enumerate(_HEADS):
        put_text(sheet, row, i + 1, head, "Head" if i < 2 else "Heads")
        sheet.column_dimensions[get_column_letter(i + 1)].width = _WIDTHS[i]
    writer = _Writer(sheet, front)
    for each in found.switching:
        row += 1
        writer.row(row, each)
    if not found.switching:
        put_text(sheet, row + 1, 1, "No input searched switches it.", "Label")
        row += 1
    for text in (
        "There: at a tie both cost the same, at a step one passes the other. Values are rounded away from best and turn "
        "the answer as they stand.",
        "Searched: a quarter to four times best; what comes in grades, at its own low and high alone.",
        "Every other input as delivered. Inputs not listed do not switch the cheapest method within what was searched.",
    ):
        row += 1
        put_text(sheet, row, 1, text, "Note")
    set_up_page(sheet, head_rows=3)


def tell(sheet: Worksheet, row: int, text: str, style: str) -> int:
    """A text, going on in the next row where it is long. Returns the row after."""
    for line in spoken_lines(sheet, text, _LINE, hyphens=False):
        put_text(sheet, row, 1, line, style)
        row += 1
    return row


def delivered(sheet: Worksheet, front: Front, row: int, command: str) -> int:
    """When what stands here was worked out, and how many inputs have changed since. Returns the row after.

    command : what works it out again
    """
    put_text(sheet, row, 1, f"Worked out on {front.facts['date']}, in cash, after tax.", "Said")
    put_text(sheet, row + 1, 1, DELIVERED, "Label")
    put_text(sheet, row + 1, 2, "number", "Label")
    count = front.count_changed()
    put_formula(sheet, row + 1, 3, f"={front.changed}", count, "0", front.results)
    text = f'=IF({front.changed}=0,"These figures hold.","Work them out again: {command}.")'
    says = f"Work them out again: {command}." if count else "These figures hold."
    put_formula(sheet, row + 1, 4, text, says, "@", front.results, "Note")
    return row + 2


class _Writer:
    def __init__(self, sheet: Worksheet, front: Front) -> None:
        self.sheet, self.front = sheet, front
        self.rows = {s.key: HEAD + 1 + i for i, s in enumerate(front.rows) if not isinstance(s, str)}
        self.now = inputs_now(front.values, front)

    def row(self, row: int, each: Switching) -> None:
        switch, stated = each.nearest, each.stated
        assert switch is not None
        sheet, front, scale = self.sheet, self.front, 100 if stated.percent else 1
        shown = number_format(stated.unit, front.currency, percent=stated.percent)
        put_label(sheet, row, stated.label, _LABEL)
        put_text(sheet, row, 2, stated.shown or "number", "Label")
        put_number(sheet, row, 3, stated.best, "Data", shown)
        at = self.rows[stated.key]
        now = self.now[stated.key]
        put_formula(sheet, row, 4, f"=Inputs!${get_column_letter(VALUE)}${at}", now, shown, front.results)
        # As told and in full: rounded away from best, so that what is printed turns the answer when it is typed in.
        turns_at = switch.told / scale
        put_number(sheet, row, 5, turns_at, "Data", shown_in_full(switch.told, stated.percent, shown))
        put_text(sheet, row, 6, "tie" if switch.kind == "tie" else "step", "Right")
        put_text(sheet, row, 7, self._name(switch), "Right")
        low, high = (self.now[stated.key + end] for end in (LOW_END, HIGH_END))
        moved = turns_at - now
        ends = [f"Inputs!${get_column_letter(column)}${at}" for column in (LOW, HIGH)]
        wide = max(high - low, 0.0)
        for column, base, text in (
            (8, abs(now), f"=IF(D{row}=0,\"none\",(E{row}-D{row})/ABS(D{row}))"),
            (9, wide, f'=IF({ends[1]}>{ends[0]},ABS(E{row}-D{row})/({ends[1]}-{ends[0]}),"none")'),
        ):  # fmt: skip
            result: float | str = "none" if base == 0 else (moved if column == 8 else abs(moved)) / base
            put_formula(sheet, row, column, text, result, "0%", front.results, "Right")
        fit_label(sheet, row, stated.label, _LABEL)

    def _name(self, switch: Switch) -> str:
        return "none" if switch.after is None else self.front.study.methods[switch.after].method.short


def shown_in_full(value: float, percent: bool, usual: str) -> str:
    """The usual format of a figure, or one with as many decimals as the value has; `value` as people see it."""
    decimals = max(0, -int(Decimal(repr(value)).normalize().as_tuple().exponent))
    has = usual.split(";")[0].partition(".")[2].count("0") + usual.split(";")[0].partition(".")[2].count("#")
    if decimals <= has:
        return usual
    figure = f"#,##0.{'0' * min(decimals, 12)}"
    return f"{figure}%" if percent else figure


def inputs_now(values: Values, front: Front) -> dict[str, float]:
    """Every input as it stands on Inputs, in the unit shown there, by key; its ends by "KEY (low)" and "KEY (high)"."""
    found: dict[str, float] = {}
    factors: dict[str, float] = {}
    for stated in front.rows:
        if not isinstance(stated, str):
            ends = {"": stated.best, LOW_END: stated.low, HIGH_END: stated.high}
            found |= {stated.key + end: value for end, value in ends.items()}
            factors |= dict.fromkeys((stated.key + end for end in ends), stated.factor)
    for line, value in values.items():
        if isinstance(line, Line) and isinstance(line.formula, Input) and line.formula.key in factors:
            found[line.formula.key] = float(value.flat[0]) / factors[line.formula.key]
    return found


__all__ = ["DELIVERED", "delivered", "inputs_now", "shown_in_full", "tell", "write_switching"]
