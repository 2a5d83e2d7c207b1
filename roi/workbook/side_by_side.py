"""One workbook of several scenarios: About, Side by side, What differs and the figures behind them, then each one's sheets.

A scenario's sheets are those of its own workbook but About; their names begin with its letter, their tabs share a colour.
The underscore after the letter keeps names of one word free of quotes, so that formulas stay short.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

import roi
from roi.answers.differences import differences
from roi.answers.side_by_side import ACROSS, FIGURES, LETTERS, LinedUp, lined_up
from roi.engine.evaluate import Values, extend
from roi.model.study import Study
from roi.workbook.cells import Results, put_text, speak
from roi.workbook.compose import compose, purpose
from roi.workbook.front import write_about_rows, write_words
from roi.workbook.grouping import move_sheets
from roi.workbook.kept_out import KeptOut
from roi.workbook.lines import write_column
from roi.workbook.member import Member
from roi.workbook.palette import tint
from roi.workbook.placing import Places
from roi.workbook.say_the_rest import say_the_rest
from roi.workbook.side_by_side_table import TITLE, SideBySide, Voice
from roi.workbook.styles import add_styles
from roi.workbook.template import OPTIONAL, SHEETS, Template
from roi.workbook.what_differs import TITLE as WHAT_DIFFERS
from roi.workbook.what_differs import write_what_differs

_PURPOSES = {
    "About": "this page: purpose, limits, colours, sheets",
    TITLE: "what each scenario says, its measures in a column, a chart",
    WHAT_DIFFERS: "inputs, texts and structure that are not the same in all",
    FIGURES: "the figures and sentences behind Side by side",
}


@dataclass
class Joined:
    """A workbook of several scenarios, the result of each of its formulas, and its charts' descriptions."""

    book: Workbook
    results: Results = field(default_factory=dict)
    alt_text: dict[tuple[str, int], str] = field(default_factory=dict)


def small(template: Template) -> Template:
    """The template without the sheets that can be left out: a tenth of the formulas."""
    kept = tuple(name for name in template.sheets or SHEETS if name not in OPTIONAL)
    return replace(template, sheets=kept)


def compose_side_by_side(
    studies: Sequence[Study],
    delivered: Sequence[Values],
    made: datetime,
    template: Template,
    changes: Sequence[Mapping[str, float]] = (),
) -> Joined:
    """Every sheet of every scenario, and the sheets that line them up.

    delivered : each study's lines at the best values
    changes : for each study, inputs changed since delivery: {input key: value in the engine's unit}
    """
    lined, differing = lined_up(studies), differences(studies)
    book = Workbook()
    add_styles(book, template.house)
    speak(book, template.tongue, [study.scenario.name for study in studies])
    book.active.title = "About"
    joined = Joined(book)
    front_sheets = [book.active, book.create_sheet(TITLE)]
    each = changes or [{}] * len(studies)
    members = [
        _take_in(joined, study, label, delivered[i], made, template, each[i])
        for i, (study, label) in enumerate(zip(studies, _labels(lined), strict=True))
    ]
    places = Places()
    known: Values = {}
    for member in members:
        places.take(member.front.places, member.prefix)
        known |= member.front.values
    voice = Voice(places, extend(known, [lined.column]), joined.results)
    front_sheets.append(write_what_differs(book, members, differing, joined.results))
    front_sheets.append(_write_figures(book, lined, voice, members))
    SideBySide(front_sheets[1], lined, members, voice, template, joined.alt_text).write(differing)
    _write_about(front_sheets[0], lined, members, made, template)
    for place, sheet in enumerate(front_sheets):
        book.move_sheet(sheet, place - book.index(sheet))
    _finish(book, members, template)
    say_the_rest(book, front_sheets)
    KeptOut([study.scenario for study in studies], template).from_book(book, joined.results, joined.alt_text)
    return joined


def _labels(lined: LinedUp) -> tuple[str, ...]:
    axis = next(iter(lined.rows.values())).axis
    assert axis is not None
    return axis.labels


def _take_in(
    joined: Joined,
    study: Study,
    label: str,
    delivered: Values,
    made: datetime,
    template: Template,
    changes: Mapping[str, float],
) -> Member:
    """Compose a scenario's own workbook and move its sheets in."""
    prefix = f"{label[0]}_"
    other, front = compose(study, delivered, made, template, changes, prefix)
    titles = [title for title in other.sheetnames if title != "About"]
    colours = (*template.house.series, *map(tint, template.house.series))
    move_sheets(joined.book, other, titles, prefix, colours[LETTERS.index(label[0])])
    joined.results |= {prefix + title: found for title, found in front.results.items()}
    joined.alt_text |= {(prefix + title, place): text for (title, place), text in front.alt_text.items()}
    purposes = {prefix + title: purpose(study, title) for title in titles}
    return Member(study, label, prefix, front, changes, purposes)


def _write_figures(book: Workbook, lined: LinedUp, voice: Voice, members: Sequence[Member]) -> Worksheet:
    """The lines behind the table, then the sentences."""
    row = voice.places.lay_out(lined.column) + 2
    currency = members[0].currency if lined.one_currency else "own currency"
    sheet = write_column(book, lined.column, voice.places, voice.values, voice.results, currency)
    write_words(sheet, voice, lined.sentences, row)
    return sheet


def _write_about(
    sheet: Worksheet, lined: LinedUp, members: Sequence[Member], made: datetime, template: Template
) -> None:
    codes = ", ".join(dict.fromkeys(member.currency for member in members))
    put_text(sheet, 1, 1, "About this workbook", "Headline")
    rows = [
        ("Purpose", f"Puts {len(members)} scenarios of making plates side by side, with the sheets of each behind them."),
        ("Made by", f"roi version {roi.__version__}"),
        ("Date", made.date().isoformat()),
        ("Currency", f"{codes}, nominal. " + ("Costs without recoverable tax on sales." if lined.one_currency else ACROSS)),
    ]  # fmt: skip
    for member in members:
        scenario = member.study.scenario
        note = f" {scenario.note}" if scenario.note else ""
        rows.append((f"Scenario {member.label[0]}", f"{member.label[3:]}, from {scenario.path.name}.{note}"))
    rows += [
        (
            "Limits",
            "Each scenario is one shop in steady operation after the switch. Methods are matched by the name they have in "
            "the scenario file, not by what they are.",
        ),
        (
            "Two views",
            "Cash counts freed minutes, floor and press hours only as far as they turn into money; full cost counts all.",
        ),
        (
            "Live",
            "Every number on an Inputs sheet may be changed, and that scenario's column follows. Which inputs are listed "
            "as differing, which methods there are and the logs are fixed.",
        ),
        ("Names", "A sheet's name begins with its scenario's letter; tabs of one scenario share a colour."),
    ]
    purposes = dict(_PURPOSES)
    for member in members:
        purposes |= member.purposes
    write_about_rows(sheet, rows, purposes)


def _finish(book: Workbook, members: Sequence[Member], template: Template) -> None:
    """Paper, the sheet it opens on, and what the file says about itself."""
    first = members[0].study.scenario
    paper = template.house.paper_code(first.currency, first.system)
    book.active = book.sheetnames.index(TITLE)
    for sheet in book.worksheets:
        sheet.page_setup.paperSize = paper
        sheet.sheet_view.tabSelected = sheet.title == TITLE
    book.calculation.fullCalcOnLoad = True
    book.properties.title = f"{len(members)} scenarios of making plates, side by side"
    book.properties.creator = f"roi {roi.__version__}"
    book.properties.description = (
        "Scenarios compared; live formulas, each scenario's inputs on a sheet of its own."
    )
