"""What a workbook doesn't show: the client's name, names of files, cells of the log, and further words a template names.

Done once, over all that is written: cells, texts in formulas and the results they must have, descriptions and properties. So
a name is gone wherever it came from, a source, a label or a mistake told; and a formula that says it says the other too.
"""

from __future__ import annotations

import re
from collections.abc import Callable, MutableMapping, Sequence
from typing import Any

from openpyxl import Workbook

from roi.scenario.badrows import without_cells
from roi.scenario.scenario import Scenario
from roi.scenario.words import spelled
from roi.workbook.cells import Results
from roi.workbook.kept import key_text
from roi.workbook.template import Template

CLIENT, LEFT_OUT, FILE, LOG = "the client", "(left out)", "a file of the scenario", "job log"
_READ_FROM = "job log "
_QUOTED = re.compile(r'"(?:[^"]|"")*"')


class KeptOut:
    """What is not to be shown, and what stands in its place.

    A name of several words is found however it is written, one of a single word as it stands, since it may be an everyday
    word such as Press; neither within a longer word.
    """

    def __init__(self, scenarios: Sequence[Scenario], template: Template) -> None:
        self._instead: dict[str, str] = {}
        self._known: dict[str, str] = {}  # labels and units stand on many rows
        # What stands in place of a name is in the workbook's language, and so is what the log's cells are told in.
        self._say: Callable[[str], str] = template.tongue.say if template.tongue is not None else str
        self._ids = {method.id for scenario in scenarios for method in scenario.methods}
        self._keys = {key_text(key) for scenario in scenarios for key in scenario.raw}
        for scenario in scenarios:
            if template.names is not True:
                self._cells_of_the_log(scenario)
            if template.names is False:
                self._names(scenario, template.prepared_for or self._say(CLIENT))
        for word in template.keep_out:
            self._add(word, self._say(LEFT_OUT))
        longest = sorted(self._instead, key=len, reverse=True)
        each = [f"(?:{re.escape(text)})" if _plain(text) else f"(?i:{re.escape(text)})" for text in longest]
        self._found = re.compile(rf"(?<!\w)(?:{'|'.join(each)})(?!\w)") if each else None

    def _cells_of_the_log(self, scenario: Scenario) -> None:
        for problem in scenario.work.skipped:
            bare = without_cells(problem)
            self._add(problem.what, bare.what)
            self._add(problem.mend, bare.mend)
            self._add(self._say(problem.what), self._say(bare.what))
            self._add(self._say(problem.mend), self._say(bare.mend))
            # Long ones are cut where they are shown.
            self._add(" ".join(str(problem).split())[:250], " ".join(str(bare).split()))

    def _names(self, scenario: Scenario, client: str) -> None:
        self._add(scenario.name, client)
        self._add(str(scenario.path), self._say(FILE))
        self._add(scenario.note, client)
        if scenario.work_source.startswith(_READ_FROM):
            self._add(scenario.work_source.removeprefix(_READ_FROM), self._say(f"the {LOG}"))
            self._add(scenario.work_source, self._say(LOG))
        if scenario.ledger is not None and scenario.ledger.path is not None:
            self._add(scenario.ledger.path.name, self._say(FILE))
        files = {scenario.path.name} | {raw.file for raw in scenario.raw.values() if not raw.default}
        for file in files:
            self._add(file, self._say(FILE))

    def _add(self, text: str, instead: str) -> None:
        for said in (text, spelled(text)):
            if said and said != instead:
                self._instead.setdefault(said if _plain(said) else said.casefold(), instead)

    def without(self, text: str) -> str:
        """The text as it may be shown. A key of the scenario stays, or the workbook could not be read back."""
        if self._found is None or text in self._keys:
            return text
        if text not in self._known:
            # Twice, since what stands in place of a row of the log may name a file.
            self._known[text] = self._found.sub(self._stand_in, self._found.sub(self._stand_in, text))
        return self._known[text]

    def _stand_in(self, found: re.Match[str]) -> str:
        text = self._instead.get(found[0])
        text = self._instead[found[0].casefold()] if text is None else text
        return text[:1].upper() + text[1:] if found.start() == 0 else text

    def from_data(self, data: Any) -> Any:
        """Plain data, as it goes into JSON, with every text as it may be shown; names of fields and ids of methods stay."""
        if isinstance(data, str):
            return data if data in self._ids else self.without(data)
        if isinstance(data, dict):
            return {name: self.from_data(value) for name, value in data.items()}
        return [self.from_data(value) for value in data] if isinstance(data, list | tuple) else data

    def from_formula(self, text: str) -> str:
        """A formula whose texts may be shown; names of sheets and everything else in it stay."""
        return _QUOTED.sub(lambda quoted: self.without(quoted[0]), text) if '"' in text else text

    def from_book(
        self,
        book: Workbook,
        results: Results,
        described: MutableMapping[tuple[str, int], str],
    ) -> None:
        """Take it out of a workbook, the results of its formulas, and what describes its charts."""
        if self._found is None:
            return
        for sheet in book.worksheets:
            for cell in sheet._cells.values():
                if isinstance(cell.value, str):
                    formula = cell.data_type == "f"
                    # Past the library's reading, which would make a formula of a text that begins like one.
                    cell._value = self.from_formula(cell.value) if formula else self.without(cell.value)
        for found in results.values():
            for place, said in found.items():
                if isinstance(said, str):
                    found[place] = self.without(said)
        for chart, text in described.items():
            described[chart] = self.without(text)
        about = book.properties
        about.title = self.without(about.title) if about.title else about.title
        about.description = self.without(about.description) if about.description else about.description


def _plain(text: str) -> bool:
    return re.fullmatch(r"\w+", text) is not None


__all__ = ["CLIENT", "FILE", "LEFT_OUT", "LOG", "KeptOut"]
