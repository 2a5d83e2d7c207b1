"""`roi brief`: the answer as one page that opens anywhere, and on request its charts as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from roi.cli.output import Writer, input_files, problems_of, text_writer, write_all
from roi.cli.reading import DONE, Progress, count, reckon, refuse, say
from roi.page.needs import need_libraries
from roi.page.write import CHARTS, make_page
from roi.scenario.problems import BadInput, Problem
from roi.workbook.read_template import load_template
from roi.workbook.template import Template


def run(scenario: Path, output: Path, charts: Path | None, template: str) -> int:
    """Read, reckon, write; the exit code."""
    try:
        with Progress() as progress:
            look = _checked(input_files(scenario), output, charts, template)
            need_libraries()
            study, values = reckon(scenario, progress)
            progress.step("Drawing and writing the page")
            page = make_page(study, values, look, charts=charts is not None)
            results: list[tuple[Path, Writer]] = [(output, text_writer(page.html))]
            if charts is not None:
                _make(charts)
                results += [(charts / name, _bytes_writer(content)) for name, content in page.files.items()]
            write_all(results)
    except BadInput as bad:
        return refuse(bad.problems)
    say(f"Written: {output}" + (f", and {count(len(page.files), 'chart')} in {charts}" if charts else ""))
    return DONE


def _checked(inputs: Sequence[Path], output: Path, charts: Path | None, template: str) -> Template:
    """The template, once it and the files to write are known to be good. Raises BadInput."""
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
    try:
        look = load_template(template)
    except BadInput as bad:
        raise BadInput([*problems, *bad.problems]) from None
    if problems:
        raise BadInput(problems)
    return look


def _make(folder: Path) -> None:
    try:
        folder.mkdir(exist_ok=True)
    except OSError as wrong:
        what = f"the folder can't be made: {wrong.strerror or wrong}"
        raise BadInput([Problem(f"--charts {folder}", what, "write elsewhere")]) from None


def _bytes_writer(content: bytes) -> Writer:
    def write(path: Path) -> object:
        return path.write_bytes(content)

    return write
