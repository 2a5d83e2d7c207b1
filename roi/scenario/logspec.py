"""The [log] table of a scenario, checked: which file, which columns, which words, which period.

Nothing of the log itself is read here; every fault of the table is found before the file is opened.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from roi.scenario.cells import DECIMALS
from roi.scenario.dates import ORDERS
from roi.scenario.imposition import IMPOSITIONS
from roi.scenario.limits import leads_out
from roi.scenario.problems import BadInput, Problem
from roi.scenario.words import fold, mend_name, quoted, unknown_keys, word_list
from roi.scenario.worklog import DATE_KINDS, FLAGS, nothing_to_work_on

STOCKS = ("coated", "uncoated")
STATED_FORM = ("plates", "impressions")
DERIVED_FORM = ("quantity", "number_up", "colours", "imposition")
PAGES = ("pages", "pages_per_side")
COLUMNS = (
    "job",
    "form",
    "gang",
    "date",
    "press",
    "size",
    *STATED_FORM,
    *DERIVED_FORM,
    *PAGES,
    "stock",
    "ruling",
    *FLAGS,
)
KEYS = ("file", "sheet", "date_order", "date_is", "decimal", "bad_rows", "from", "to", "columns", "words")


@dataclass(frozen=True)
class LogSpec:
    """`columns`: our name -> header; `words`: kind -> folded word -> id; `yes`, `no`: flag -> folded words.

    `date_order` None = to be found; `period` None = first to last date of the log.
    """

    path: Path
    sheet: str | None
    date_order: str | None
    date_is: str
    decimal: str
    skip_bad: bool
    period: tuple[dt.date, dt.date] | None
    columns: dict[str, str]
    words: dict[str, dict[str, str]]
    yes: dict[str, frozenset[str]]
    no: dict[str, frozenset[str]]


def read_log_spec(
    spec: Mapping[str, object],
    folder: Path,
    presses: Sequence[str],
    sizes: Sequence[str],
    where: str,
    press_labels: Mapping[str, str] | None = None,
    size_labels: Mapping[str, str] | None = None,
) -> LogSpec:
    """The checked table; `where` is its name in the scenario, for messages.

    Raises
    ------
    BadInput
        With every fault of the table: unknown or misspelt keys, wrong types or choices, a file outside the
        scenario's folder, half a period, columns missing or mapped twice, words of unknown or of two
        meanings.
    """
    problems = [*nothing_to_work_on(presses, sizes, where), *unknown_keys(spec, KEYS, where)]
    path = file_beside(folder, spec.get("file"), where, problems)
    sheet = spec.get("sheet")
    if sheet is not None and not isinstance(sheet, str):
        problems.append(Problem(f"{where} sheet", "must be the name of a sheet", 'write sheet = "Jobs"'))
    columns = _columns(table_in(spec, "columns", where, problems), len(presses), len(sizes), where, problems)

    words = table_in(spec, "words", where, problems)
    at = f"{where} words"
    problems += unknown_keys(words, ("press", "size", "stock", "imposition", "yes", "no"), at)
    lists = {
        kind: word_list(ids, table_in(words, kind, at, problems), f"{at}.{kind}", problems, labels)
        for kind, ids, labels in (
            ("press", presses, press_labels),
            ("size", sizes, size_labels),
            ("stock", STOCKS, None),
            ("imposition", IMPOSITIONS, None),
        )
    }
    flag_words = {
        kind: _flag_words(table_in(words, kind, at, problems), f"{at}.{kind}", problems)
        for kind in ("yes", "no")
    }
    for flag in FLAGS:
        for word in flag_words["yes"][flag] & flag_words["no"][flag]:
            problems.append(
                Problem(f"{at}.no.{flag}", f"{quoted(word)} also stands under yes", "list each word once")
            )

    order = choice_in(spec, "date_order", ORDERS, None, where, problems)
    date_is = choice_in(spec, "date_is", DATE_KINDS, "plating", where, problems)
    decimal = choice_in(spec, "decimal", DECIMALS, "point", where, problems)
    bad_rows = choice_in(spec, "bad_rows", ("refuse", "skip"), "refuse", where, problems)
    period = period_in(spec, where, problems)
    if problems:
        raise BadInput(problems)
    return LogSpec(
        path,
        sheet if isinstance(sheet, str) else None,
        order,
        str(date_is),
        str(decimal),
        bad_rows == "skip",
        period,
        columns,
        lists,
        flag_words["yes"],
        flag_words["no"],
    )


def table_in(
    spec: Mapping[str, object], key: str, where: str, problems: list[Problem], within: str = "log"
) -> Mapping[str, object]:
    """A table within the table; an empty one, and a problem, where it is none."""
    value = spec.get(key, {})
    if isinstance(value, Mapping):
        return value
    problems.append(Problem(f"{where} {key}", "must be a table", f"write it as [{within}.{key}]"))
    return {}


def choice_in(
    spec: Mapping[str, object],
    key: str,
    choices: Sequence[str],
    default: str | None,
    where: str,
    problems: list[Problem],
) -> str | None:
    """What a key says of few choices; the default, and a problem, where it is none of them."""
    value = spec.get(key, default)
    if value is None or value in choices:
        return default if value is None else str(value)
    problems.append(
        Problem(f"{where} {key}", f"{quoted(str(value))} is not a choice", mend_name(str(value), choices))
    )
    return default


def file_beside(
    folder: Path,
    name: object,
    where: str,
    problems: list[Problem],
    what: str = "log",
    like: str = "job_log.csv",
) -> Path:
    """The path of a table file; one elsewhere is refused, so that a scenario someone sent can't read other files."""
    place = f"{where} file"
    if not isinstance(name, str) or not name.strip():
        problems.append(Problem(place, f"the {what}'s file is not named", f'write file = "{like}"'))
        return folder
    path = folder / name
    mend = f"put the {what} in the scenario's folder and name it from there"
    if leads_out(name):
        problems.append(Problem(place, f"{quoted(name)} leaves the scenario's folder", mend))
    elif not path.resolve().is_relative_to(folder.resolve()):
        problems.append(Problem(place, f"{quoted(name)} links to a file outside the scenario's folder", mend))
    elif path.suffix.lower() not in (".csv", ".xlsx"):
        problems.append(
            Problem(place, f"{quoted(name)} is neither .csv nor .xlsx", f"save the {what} as CSV or XLSX")
        )
    return path


def period_in(
    spec: Mapping[str, object], where: str, problems: list[Problem]
) -> tuple[dt.date, dt.date] | None:
    """The days `from` and `to`, None where neither is stated; half a period or none at all is a problem."""
    stated = {key: spec[key] for key in ("from", "to") if key in spec}
    if not stated:
        return None
    days = []
    for key, value in stated.items():
        if isinstance(value, dt.date):
            days.append(value.date() if isinstance(value, dt.datetime) else value)
        else:
            problems.append(
                Problem(
                    f"{where} {key}", "is not a date", f"write {key} = 2025-01-31, without quotation marks"
                )
            )
    if len(stated) == 1:
        problems.append(
            Problem(
                where, f"only {next(iter(stated))} is stated of the period", "state both from and to, or none"
            )
        )
    if len(days) < 2:
        return None
    if days[1] < days[0]:
        problems.append(Problem(f"{where} to", "is before from", "exchange the two"))
    return days[0], days[1]


def _columns(
    table: Mapping[str, object], presses: int, sizes: int, where: str, problems: list[Problem]
) -> dict[str, str]:
    at = f"{where} columns"
    problems += unknown_keys(table, COLUMNS, at)
    columns: dict[str, str] = {}
    by_header: dict[str, str] = {}
    for name, header in table.items():
        if not isinstance(header, str) or not header.strip():
            problems.append(
                Problem(f"{at}.{name}", "must be a header of the log", f'write {name} = "Its header"')
            )
            continue
        columns[name] = header
        other = by_header.setdefault(fold(header), name)
        if other != name:
            problems.append(
                Problem(f"{at}.{name}", f"{quoted(header)} is already mapped to {other}", "map a column once")
            )
    needed = ["date"] + ["press"] * (presses > 1) + ["size"] * (sizes > 1)
    stated = [name for name in STATED_FORM if name in columns]
    derived = [name for name in (*DERIVED_FORM, *PAGES) if name in columns]
    if stated and derived:
        problems.append(
            Problem(
                at,
                f"{stated[0]} and {derived[0]} are both mapped",
                (f"map either {', '.join(STATED_FORM)} or {', '.join((*DERIVED_FORM, *PAGES))}"),
            )
        )
    elif derived:
        needed += [*DERIVED_FORM, *(PAGES if any(name in columns for name in PAGES) else ())]
    else:
        needed += STATED_FORM
    problems += [
        Problem(at, f"{name} is not mapped", f'write {name} = "the header of that column"')
        for name in needed
        if name not in table
    ]
    if "form" in columns and "job" not in columns:
        problems.append(
            Problem(at, "form is mapped but job is not", "a form number counts within its job: map job too")
        )
    return columns


def _flag_words(
    table: Mapping[str, object], where: str, problems: list[Problem]
) -> dict[str, frozenset[str]]:
    problems += unknown_keys(table, FLAGS, where)
    found = dict.fromkeys(FLAGS, frozenset[str]())
    for flag in FLAGS:
        words = table.get(flag, [])
        if isinstance(words, list) and all(isinstance(word, str) for word in words):
            found[flag] = frozenset(fold(word) for word in words)
        else:
            problems.append(
                Problem(f"{where}.{flag}", "must be a list of texts", f'write {flag} = ["one", "two"]')
            )
    return found
