"""The decision workbook on paper, to be looked at: `python -m tests.render [SCENARIO]`.

For every template the workbook is written, printed to PDF by LibreOffice and drawn as PNG, one a page, in
FOLDER/TEMPLATE; a table says how many pages each sheet takes and what is wrong with them.
Exit codes: 0 nothing found, 1 found wanting, 2 can't be run.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

from tests.render.findings import Finding, findings
from tests.render.programs import fonts_of, missing, pages_of, pictures, squeezed, to_pdf
from tests.render.texts import texts_of

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "scenarios" / "us_two_press" / "shop.toml"
TEMPLATES = ROOT / "workbook_templates"
# Free fonts made with the widths of common ones, so that lines break and columns fill alike.
SAME_WIDTHS = {
    "Calibri": "Carlito",
    "Cambria": "Caladea",
    "Arial": "Liberation Sans",
    "Times New Roman": "Liberation Serif",
}
PLAIN = "plain"  # a name for the workbook as it comes, where there are no templates


def main(words: list[str] | None = None) -> int:
    """Render what is asked for; the exit code."""
    asked = _arguments(words)
    absent = missing()
    if absent:
        print(f"Nothing was rendered; {absent}.", file=sys.stderr)
        return 2
    found = 0
    print(f"{'Template':<14} {'Sheet':<24} {'Pages':>5}  Findings")
    for place, name in enumerate(asked.template or templates()):
        folder = asked.out / Path(name).stem
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        workbook = written(asked.scenario, name, folder / "decision.xlsx")
        if workbook is None:
            return 2
        found += render(workbook, Path(name).stem, asked.dpi, asked.page_one if place == 0 else None)
    print(f"{found or 'No'} finding{'' if found == 1 else 's'}. Pages to look at: {asked.out}")
    return 1 if found else 0


def templates() -> list[str]:
    """The shipped templates by name; PLAIN where there are none."""
    return sorted(file.stem for file in TEMPLATES.glob("*.toml")) or [PLAIN]


def written(scenario: Path, template: str, target: Path) -> Path | None:
    """The workbook as a user gets it, through the command; None, with the command's own words, when refused."""
    command = [sys.executable, "-c", "from roi.cli import main; main()"]
    command += ["compare", str(scenario), "-o", str(target)]
    command += [] if template == PLAIN else ["--template", template]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode or done.stderr:
        print(done.stdout + done.stderr, file=sys.stderr)
    return target if target.exists() else None


def render(workbook: Path, template: str, dpi: int, page_one: Path | None) -> int:
    """Draw a workbook beside itself and print its rows of the table; how many findings there are.

    `page_one` is written from the first page of the sheet on which the workbook opens.
    """
    texts = texts_of(workbook)
    pdf = to_pdf(workbook, workbook.parent)
    pages = pages_of(pdf, [*texts.of])
    files = pictures(pdf, pages, workbook.parent, dpi)
    if page_one is not None:
        first = next(page.number for page in pages if page.sheet == texts.opens_on)
        shutil.copyfile(files[first], page_one)
    found = findings(pdf, pages, texts)
    count = Counter(page.sheet for page in pages)
    for sheet in texts.of:
        wrong = [finding for finding in found if finding.sheet == sheet]
        print(f"{template:<14} {sheet:<24} {count[sheet]:>5}  {len(wrong) or 'none'}")
        for finding in wrong:
            print(f"{'':<16} {_place(finding, files)}: {finding.what}")
    drawn = fonts_of(pdf)
    for font in sorted(texts.fonts):
        same = SAME_WIDTHS.get(font, font)
        if not drawn & {squeezed(font), squeezed(same)}:
            print(f"{'':<16} note: drawn without {font}: install {same}, or widths differ from a reader's")
    return len(found)


def _place(finding: Finding, files: dict[int, Path]) -> str:
    return finding.sheet if finding.page is None else files[finding.page].name


def _arguments(words: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.render", description=(__doc__ or "").split("\n\n")[1]
    )
    parser.add_argument(
        "scenario", nargs="?", type=Path, default=DEMO, help="a scenario; the demo if left out"
    )
    parser.add_argument(
        "--template", action="append", metavar="NAME", help="one template, repeatable; all if left out"
    )
    parser.add_argument(
        "--out", type=Path, default=Path("build/render"), metavar="FOLDER", help="default: %(default)s"
    )
    parser.add_argument(
        "--dpi", type=int, default=100, metavar="N", help="dots per inch; default: %(default)s"
    )
    parser.add_argument(
        "--page-one",
        type=Path,
        metavar="FILE.png",
        help="also write the first page of the sheet the workbook opens on, of the first template",
    )
    return parser.parse_args(words)


if __name__ == "__main__":
    sys.exit(main())
