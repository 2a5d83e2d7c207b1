"""`roi brief`: the answer as one page that opens anywhere, and on request its charts as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from roi.cli.language import look_of, tell_missing
from roi.cli.output import Writer, input_files, problems_of, text_writer, write_all
from roi.cli.reading import DONE, Progress, count, reckon, refuse, say
from roi.page.needs import need_libraries
from roi.page.write import CHARTS, make_page
from roi.scenario.problems import BadInput, Problem
from roi.workbook.template import Template


def run(scenario: Path, output: Path, charts: Path | None, template: str, language: str = "") -> int:
    """Read, reckon, write; the exit code."""
    try:
        with Progress() as progress:
            look = _checked(input_files(scenario), output, charts, template, language)
            need_libraries()
            study, values = reckon(scenario, progress)
            progress.step("Drawing and writing the page")
            page = make_page(study, values, look, charts=charts is not None)
            results: list[tuple[Path, Writer]] = [(output, text_writer(page.html))]
            if charts is not None:
                results += [(charts / name, _bytes_writer(content)) for name, content in page.files.items()]
            write_all(results, making=charts)
    except BadInput as bad:
        return refuse(bad.problems)
    say(f"Written: {output}" + (f", and {count(len(page.files), 'chart')} in {charts}" if charts else ""))
    tell_missing(look.tongue)
    return DONE


def _checked(
    inputs: Sequence[Path], output: Path, charts: Path | None, template: str, language: str
) -> Template:
    """The template, once it, its language and the files to write are known to be good. Raises BadInput."""
    problems = problems_of("-o", output, ".html", inputs)
    if charts is not None:
        if charts.is_dir():
            for name in CHARTS:
                for ending in (".svg", ".png"):
                    problems += problems_of("--charts", charts / f"{name}{ending}", ending, inputs)
        elif charts.exists():
            problems.append(Problem(f"--charts {charts}", "is a file", "name a folder"))
        elif not charts.parent.is_dir():
            problems.append(
                Problem(
                    f"--charts {charts}",
                    f"the folder {charts.parent} does not exist",
                    "make the folder first",
                )
            )
    look = look_of(template, language, problems)
    if problems:
        raise BadInput(problems)
    return look


def _bytes_writer(content: bytes) -> Writer:
    return lambda file: file.write(content)
