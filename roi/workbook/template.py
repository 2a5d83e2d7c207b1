"""A template: for one kind of reader, which sheets in which order, their headings, what the Summary says, and the look.

Text files (TOML) state it: shipped ones by name, or anyone's own file. Tab names never change, since formulas lean on
them; a template gives headings. `read_template` says what is wrong in a file. No figures here, and no spreadsheet library.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import roi
from roi.workbook.house import OWN, House
from roi.workbook.tongue import Tongue

SIGN_OFF = "Sign-off"  # written only when listed: what stands before it is the report, what stands behind it the workings
METHODS = "Methods"  # stands for the sheets of all methods, in the scenario's order
OPTIONAL = ("Break-even", "Sensitivity", "Switching", "To check", "Claims", "Risk", "Stresses", "Mixed plan")
SHEETS = (
    "About", "Summary", "Break-even", "Sensitivity", "Switching", "To check", "Claims", "Risk", "Stresses", "Mixed plan",
    "Capacity", "When to change", "Words",
    "Inputs", "Units", "Work", "Shop",
    METHODS, "Cash flow",
    "Comparison",
    "Resources", "Replacement", "Changes", "Scenario", "Forms",
    "Sources and cautions", "Checks", SIGN_OFF, "Cases", "Volumes", "Ranges", "Stressed",
)  # fmt: skip
SENTENCES = (
    "Verdict", "Over the years", "How sure", "How firm", "How close", "Where it turns", "At full cost", "A plate", "Up front",
    "What to check",
    "Deepest in cash", "Going back",
    "Keeping up",
)  # fmt: skip
NEW_PAGE = "new page"
BLOCKS = (
    "title block", "opening", "verdict", "checks", "measures", "full cost", "cost by family", "cash by year",
    "cumulative chart", "family chart", "what decides", "defaults to replace", "likely mistakes", "rests on", "closing",
    "scope", "paid at first", "tax basis", "open points", "sign-off",
    NEW_PAGE,
)  # fmt: skip
USUAL_BLOCKS = (
    "opening", "verdict", "checks", "what decides", "measures", "cumulative chart", NEW_PAGE, "family chart", "full cost",
    "defaults to replace", "likely mistakes", "rests on", "closing",
)  # fmt: skip
# Without these nobody could tell what the page says, whether it holds, and what can hurt.
NEEDED_SENTENCES = ("Verdict",)
SPOKEN_FROM = {
    "Where it turns": "Break-even",
    "How firm": "Sensitivity",
    "Deepest in cash": "Stresses",
}  # sentences that need an optional sheet
NEEDED_BLOCKS = ("verdict", "checks", "rests on")
PLACEHOLDERS = ("shop", "date", "currency", "version", "prepared_for", "prepared_by")
PLACEHOLDER = re.compile(r"\{([^{}]*)\}")

_FRONT = ("About", "Summary")


@dataclass(frozen=True)
class Template:
    """What a workbook shows, in which order and look; left alone, everything in the usual order.

    `titles` holds headings by tab name, `opening` and `closing` lines of text; all three may hold placeholders such as
    {shop}. `sheets` empty means all. `prepared_for` empty means the shop. `names`: True shows the scenario's name, its files'
    and what the log's cells say, False none of them, None all but the cells; `keep_out` are further words not to be shown.
    """

    reader: str = ""
    prepared_for: str = ""
    prepared_by: str = ""
    sheets: tuple[str, ...] = ()
    titles: Mapping[str, str] = field(default_factory=dict)
    sentences: tuple[str, ...] = SENTENCES
    blocks: tuple[str, ...] = USUAL_BLOCKS
    opening: tuple[str, ...] = ()
    closing: tuple[str, ...] = ()
    names: bool | None = None
    keep_out: tuple[str, ...] = ()
    house: House = OWN
    tongue: Tongue | None = None  # None: English

    def wants(self, sheet: str) -> bool:
        """Whether a sheet is to be written: only optional ones can be left out, by not listing them; one comes only listed."""
        if sheet == SIGN_OFF:
            return sheet in self.sheets
        return sheet not in OPTIONAL or not self.sheets or sheet in self.sheets

    def order(self, written: Sequence[str], methods: Collection[str]) -> list[str]:
        """The sheets written, in order: About and Summary first unless listed, those listed, the rest as they stand."""
        unlisted = [name for name in _FRONT if name not in self.sheets]
        ranked: list[str] = []
        for name in (*unlisted, *self.sheets):
            ranked += [t for t in written if t in methods] if name == METHODS else [name]
        listed = [title for title in ranked if title in written]
        return listed + [title for title in written if title not in listed]

    def title(self, sheet: str, facts: Mapping[str, str], method: bool) -> str:
        """The heading given to a sheet, filled in; empty where the template gives none."""
        text = self.titles.get(METHODS if method else sheet, "")
        return fill(text, {**facts, "method": sheet})

    def facts(self, shop: str, currency: str, made: datetime) -> dict[str, str]:
        """What fills the placeholders: PLACEHOLDERS, each with its text."""
        return {
            "shop": shop,
            "date": made.date().isoformat(),
            "currency": currency,
            "version": roi.__version__,
            "prepared_for": self.prepared_for or shop,
            "prepared_by": self.prepared_by or f"roi version {roi.__version__}",
        }


def fill(text: str, facts: Mapping[str, str]) -> str:
    """A text with its placeholders filled; a brace around anything else stays."""
    return PLACEHOLDER.sub(lambda found: facts.get(found[1], found[0]), text)


def shipped() -> dict[str, Path]:
    """The shipped templates by name: beside the package in the project's folder, inside it once installed."""
    package = Path(roi.__file__).parent
    inside, beside = package / "_templates", package.parent / "workbook_templates"
    return {file.stem: file for file in _sorted((inside if inside.is_dir() else beside).glob("*.toml"))}


def _sorted(files: Iterable[Path]) -> list[Path]:
    return sorted(files, key=lambda file: file.name)
