"""What is said beside cells, put into the workbook's language: axis titles, prompts, page footers, the file's own title."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from openpyxl import Workbook
from openpyxl.chart._chart import ChartBase
from openpyxl.drawing.text import RegularTextRun
from openpyxl.worksheet.worksheet import Worksheet

from roi.answers.breakeven import inside
from roi.scenario.scenario import Scenario
from roi.scenario.things import Method
from roi.workbook.cells import spoken, tongue_of

# The file format's limits.
_LONGEST = {"prompt": 255, "error": 224, "promptTitle": 32, "errorTitle": 32}
_NAMES = ("label", "short", "name")
_PRESS = "Press"  # what a press is called that nobody named: a word, not a name


def names_of(scenario: Scenario) -> dict[str, str]:
    """What no language says otherwise, as it stands in texts and as it is: what the shop named. Shipped methods may be said."""
    things = [scenario.name, scenario.note, scenario.currency]
    things += [name for size in scenario.sizes for name in (size.name, size.label)]
    things += [press.label for press in scenario.presses]
    called = [raw.value for key, raw in scenario.raw.items() if key[-1] in _NAMES and not raw.default]
    methods = [method.short for method in scenario.methods if not _shipped(scenario, method)]
    named = [*things, *methods, *(name for name in called if isinstance(name, str))]
    return {inside(name): name for name in methods} | {name: name for name in named if name != _PRESS}


def _shipped(scenario: Scenario, method: Method) -> bool:
    """Whether a method is called what its shipped file calls it."""
    raw = scenario.raw.get(("methods", method.id, "short"))
    return raw is not None and raw.default


def say_the_rest(book: Workbook, sheets: Iterable[Worksheet]) -> None:
    """Put what stands beside the cells of these sheets into the workbook's language, once; English stays as it is."""
    for sheet in sheets:
        if tongue_of(sheet) is None:
            continue
        for run in (run for chart in sheet._charts for run in _runs(chart)):
            run.t = spoken(sheet, run.t)
        for guard in sheet.data_validations.dataValidation:
            for part, most in _LONGEST.items():
                if said := getattr(guard, part):
                    setattr(guard, part, str(spoken(sheet, said))[:most])
        sheet.oddFooter.right.text = spoken(sheet, sheet.oddFooter.right.text or "")
        book.properties.title = spoken(sheet, book.properties.title)
        book.properties.description = spoken(sheet, book.properties.description)


def _runs(chart: ChartBase) -> Iterator[RegularTextRun]:
    """Texts written in a chart itself; those in cells are said there."""
    for title in (chart.title, chart.x_axis.title, chart.y_axis.title):
        rich = title.tx.rich if title is not None and title.tx is not None else None
        for paragraph in rich.p if rich is not None else ():
            yield from paragraph.r or ()


__all__ = ["names_of", "say_the_rest"]
