"""What sheets must be: nothing hidden, typed numbers in their place, inputs guarded, readable, printable."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from roi.workbook.palette import PAPER, contrast
from tests.workbook.opened import FRONT, Opened, is_number, role

TYPED_NUMBERS_ALLOWED = frozenset({"About", "Inputs", "Units", "Work"})
PAGE_ROWS, PAGE_COLUMNS, SCREEN_ROWS = 45, 12, 30
FORMULA_STARTERS = ("=", "+", "-", "@", "\t", "\r")
LIMITS = {"prompt": 255, "error": 224, "promptTitle": 32, "errorTitle": 32}
OUTSIDE = (
    "vbaproject",
    "externallinks/",
    "connections.xml",
    "embeddings/",
    "activex",
    "querytables/",
    "comments",
)


def package_is_plain(opened: Opened) -> Iterator[str]:
    if opened.path.suffix != ".xlsx":
        yield f"{opened.path.name}: not an .xlsx file"
    for name, content in opened.parts.items():
        if any(word in name.lower() for word in OUTSIDE):
            yield f"{name}: macros, links, embedded objects and comments have no place"
        if name.endswith(".rels") and b'TargetMode="External"' in content:
            yield f"{name}: a link leads out of the workbook"
    for holder in (opened.book, *opened.book.worksheets):
        yield from (f"{name}: a defined name" for name in holder.defined_names)


def nothing_is_hidden(opened: Opened) -> Iterator[str]:
    for sheet in opened.book.worksheets:
        if sheet.sheet_state != "visible":
            yield f"{sheet.title}: hidden sheet"
        for row, size in sheet.row_dimensions.items():
            if size.hidden or size.height == 0:
                yield f"{sheet.title}!{row}:{row}: hidden row"
        for column, size in sheet.column_dimensions.items():
            if size.hidden or size.width == 0:
                yield f"{sheet.title}!{column}:{column}: hidden column"


def sheet_names_are_plain(opened: Opened) -> Iterator[str]:
    for title in opened.book.sheetnames:
        if len(title) > 31 or not re.fullmatch(r"[A-Za-z](?:[A-Za-z0-9 _-]*[A-Za-z0-9])?", title):
            yield f"{title}: a sheet name has at most 31 plain characters"
        if re.fullmatch(r"Sheet ?[0-9]*|[A-Z]{1,3}[0-9]+", title):
            yield f"{title}: a sheet name says nothing or looks like a cell"


def no_merged_cells(opened: Opened) -> Iterator[str]:
    for sheet in opened.book.worksheets:
        yield from (f"{sheet.title}!{span}: merged cells" for span in sheet.merged_cells.ranges)


def typed_numbers_are_inputs_or_data(opened: Opened) -> Iterator[str]:
    """Whole numbers in the frozen headings count years or columns and are free."""
    for title, cell in opened.cells():
        if role(title) in TYPED_NUMBERS_ALLOWED or not is_number(cell.value) or cell.data_type == "f":
            continue
        counts = cell.row <= opened.heading_rows(title) and isinstance(cell.value, int)
        if not counts and opened.style(cell) not in ("Input", "Data"):
            yield f"{title}!{cell.coordinate}: {cell.value} is typed, but in the style neither Input nor Data"


def input_style_is_for_inputs(opened: Opened) -> Iterator[str]:
    for title, cell in opened.cells():
        if title == "About":  # its legend shows the style
            continue
        wears = opened.style(cell) == "Input"
        if wears and cell.data_type == "f":
            yield f"{title}!{cell.coordinate}: a formula in the style of inputs"
        if role(title) == "Inputs" and cell.data_type == "f":
            yield f"{title}!{cell.coordinate}: a formula among the inputs"
        if role(title) == "Inputs" and is_number(cell.value) and not wears and opened.style(cell) != "Data":
            yield f"{title}!{cell.coordinate}: {cell.value} is not in the style of inputs"
        if wears and opened.book[title].protection.sheet and cell.protection.locked:
            yield f"{title}!{cell.coordinate}: the input is locked"


def inputs_reject_what_cannot_be(opened: Opened) -> Iterator[str]:
    for title, cell in opened.cells():
        if title == "About" or opened.style(cell) != "Input":
            continue
        where = f"{title}!{cell.coordinate}"
        every = opened.book[title].data_validations.dataValidation
        guards = [guard for guard in every if cell.coordinate in guard.sqref]
        if not guards:
            yield f"{where}: no validation"
        for guard in guards:
            if not guard.showErrorMessage or guard.errorStyle not in (None, "stop"):
                yield f"{where}: the validation does not reject"
            if not (guard.error and guard.prompt):
                yield f"{where}: the validation has no message"
            for part, most in LIMITS.items():
                if len(getattr(guard, part) or "") > most:
                    yield f"{where}: {part} of the validation is longer than {most} characters"
            if not _passes(guard, cell.value):
                yield f"{where}: {cell.value!r} breaks its own validation"


def _passes(guard: Any, value: Any) -> bool:
    """Whether a delivered value passes; bounds and lists that are references are left to the programs."""
    if guard.type == "list" and (guard.formula1 or "").startswith('"'):
        return len(guard.formula1) <= 257 and str(value) in guard.formula1.strip('"').split(",")
    if guard.type not in ("decimal", "whole"):
        return True
    if not is_number(value):
        return False
    try:
        low, high = float(guard.formula1), float(guard.formula2 or "inf")
    except ValueError:
        return True
    passes: dict[str, bool] = {
        "between": low <= value <= high,
        "greaterThanOrEqual": value >= low,
        "greaterThan": value > low,
        "lessThanOrEqual": value <= low,
        "lessThan": value < low,
    }
    return passes.get(guard.operator or "between", True)


def inputs_stand_once_with_their_source(opened: Opened) -> Iterator[str]:
    if not opened.called("Inputs"):
        yield "Inputs: no such sheet"
    for title in opened.called("Inputs"):
        yield from _inputs_stand_once(opened, title)


def _inputs_stand_once(opened: Opened, title: str) -> Iterator[str]:
    # In another language the English heading, by which the sheet is read back, stands in the last line.
    heads = {
        str(cell.value).strip().splitlines()[-1].lower(): cell.column
        for _, cell in opened.cells(title)
        if cell.row <= opened.heading_rows(title) and str(cell.value).strip()
    }
    if missing := {"key", "unit", "source"} - set(heads):
        yield f"{title}: no column headed {', '.join(sorted(missing))}"
        return
    sheet, keys = opened.book[title], set()
    for row in sorted({cell.row for _, cell in opened.cells(title) if opened.style(cell) == "Input"}):
        key = sheet.cell(row, heads["key"]).value
        if not key or key in keys:
            yield f"{title}!{row}: {'no key' if not key else f'{key} stands twice'}"
        keys.add(key)
        if not sheet.cell(row, heads["source"]).value:
            yield f"{title}!{row}: no source"


def numeric_rows_have_label_and_unit(opened: Opened) -> Iterator[str]:
    for title in [*opened.workings, *opened.called("Inputs")]:
        if title not in opened.book.sheetnames:
            continue
        rows: dict[int, list[Any]] = {}
        for _, cell in opened.cells(title):
            if cell.row > opened.heading_rows(title):
                rows.setdefault(cell.row, []).append(cell)
        heads = {"unit", opened.say("Unit").lower()}
        units = [cell for _, cell in opened.cells(title) if heads & set(str(cell.value).lower().splitlines())]
        for row, cells in rows.items():
            if not any(is_number(opened.stored(title, cell)) for cell in cells):
                continue
            if not units:
                yield f"{title}: no column headed Unit"
                break
            if not opened.book[title].cell(row, units[0].column).value:
                yield f"{title}!{row}: numbers without a unit"
            if not isinstance(opened.stored(title, cells[0]), str):
                yield f"{title}!{row}: numbers without a label before them"


def numbers_have_a_format(opened: Opened) -> Iterator[str]:
    for title, cell in opened.cells():
        general = cell.data_type == "f" and cell.number_format == "General"
        if general and is_number(opened.stored(title, cell)):
            yield f"{title}!{cell.coordinate}: no number format"


def text_contrasts_with_its_ground(opened: Opened) -> Iterator[str]:
    seen: set[int] = set()
    for title, cell in opened.cells():
        if cell.style_id in seen:
            continue
        seen.add(cell.style_id)
        ink = _rgb(cell.font.color, "000000")
        ground = _rgb(cell.fill.fgColor, None) if cell.fill.fill_type == "solid" else PAPER
        if ink is None or ground is None:
            yield f"{title}!{cell.coordinate}: a colour that is not given as RGB"
            continue
        size = cell.font.sz or 11
        least = 3.0 if size >= 18 or (size >= 14 and cell.font.b) else 4.5
        if (ratio := contrast(ink, ground)) < least:
            yield f"{title}!{cell.coordinate}: {ink} on {ground} is {ratio:.1f} : 1, at least {least}"


def _rgb(colour: Any, absent: str | None) -> str | None:
    """RRGGBB; theme colour 1 and system colour 64 are the black of default text."""
    if colour is None or (colour.type, colour.value) in (("theme", 1), ("indexed", 64)):
        return absent
    return str(colour.rgb)[-6:] if colour.type == "rgb" else None


def headings_stay_in_view(opened: Opened) -> Iterator[str]:
    for sheet in opened.book.worksheets:
        large = sheet.max_row > SCREEN_ROWS or sheet.max_column > PAGE_COLUMNS
        if large and role(sheet.title) not in FRONT and not sheet.freeze_panes:
            yield f"{sheet.title}: headings are not frozen"


def sheets_print_well(opened: Opened) -> Iterator[str]:
    for sheet in opened.book.worksheets:
        fit = sheet.sheet_properties.pageSetUpPr
        if fit is None or not fit.fitToPage or sheet.page_setup.fitToWidth not in (None, 1):
            yield f"{sheet.title}: not set to print one page wide"
        if sheet.page_setup.fitToHeight not in (0, "0"):
            yield f"{sheet.title}: squeezed into a number of pages high; set none (0)"
        if not sheet.page_setup.paperSize or sheet.page_setup.orientation not in ("portrait", "landscape"):
            yield f"{sheet.title}: paper or direction not set"
        if sheet.max_row > PAGE_ROWS and not sheet.print_title_rows:
            yield f"{sheet.title}: headings do not repeat on each page"
        edges = [
            part.text or ""
            for edge in (sheet.oddFooter, sheet.oddHeader)
            for part in (edge.left, edge.center, edge.right)
        ]
        if not any("&P" in text for text in edges):
            yield f"{sheet.title}: no page number"


def opens_on_a_front_page_and_calculates(opened: Opened) -> Iterator[str]:
    if opened.book.active.title not in ("About", "Summary", "Side by side"):
        yield f"{opened.book.active.title}: opens there, not on About or Summary"
    chosen = [sheet.title for sheet in opened.book.worksheets if sheet.sheet_view.tabSelected]
    if len(chosen) > 1:
        yield f"{', '.join(chosen)}: more than one sheet selected"
    calculation = opened.book.calculation
    if not calculation.fullCalcOnLoad or calculation.calcMode not in (None, "auto"):
        yield "the workbook does not calculate when it opens"
    if calculation.iterate or calculation.fullPrecision is False:
        yield "the workbook iterates or computes with displayed figures"


def text_cannot_act_as_a_formula(opened: Opened) -> Iterator[str]:
    for title, cell in opened.cells():
        if cell.data_type == "s" and str(cell.value).startswith(FORMULA_STARTERS) and not cell.quotePrefix:
            yield f"{title}!{cell.coordinate}: text that starts like a formula is not marked as text"


def about_and_summary_say_what_they_must(opened: Opened) -> Iterator[str]:
    for title in ("About", "Summary", "Checks"):
        if not opened.called(title):
            yield f"{title}: no such sheet"
            return
    said = "\n".join(str(opened.stored(title, cell)) for title, cell in opened.cells("About"))
    for title in opened.book.sheetnames:
        if title not in said:
            yield f"About: does not list the sheet {title}"
    for word in ("Version", "Currency", "Limit", "Input", "Data"):
        if opened.say(word).lower() not in said.lower():
            yield f"About: says nothing about {word}"
    for title in opened.called("Summary"):
        if not any(cell.data_type == "f" and "Checks!" in cell.value for _, cell in opened.cells(title)):
            yield f"{title}: does not show whether the checks pass"
    for title in opened.called("Checks"):
        if not {cell.data_type for _, cell in opened.cells(title)} & {"f"}:
            yield f"{title}: holds no formula"


RULES = (
    package_is_plain,
    nothing_is_hidden,
    sheet_names_are_plain,
    no_merged_cells,
    typed_numbers_are_inputs_or_data,
    input_style_is_for_inputs,
    inputs_reject_what_cannot_be,
    inputs_stand_once_with_their_source,
    numeric_rows_have_label_and_unit,
    numbers_have_a_format,
    text_contrasts_with_its_ground,
    headings_stay_in_view,
    sheets_print_well,
    opens_on_a_front_page_and_calculates,
    text_cannot_act_as_a_formula,
    about_and_summary_say_what_they_must,
)
