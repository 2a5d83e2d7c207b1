"""Speed of writing a workbook, against a bare dump of the same cells, and of recalculating it in two other programs."""

from __future__ import annotations

import statistics
import subprocess
import time
from pathlib import Path

import ironcalc
from openpyxl import Workbook, load_workbook

from roi.model.study import Study
from roi.workbook import write
from roi.workbook.styles import add_styles
from roi.workbook.write import write_workbook
from tests.benchmarks.measures import Row, median, seconds
from tests.parity.recalculate import libreoffice_missing, stripped


def rows(study: Study, folder: Path) -> list[Row]:
    """Writing, its last pass, and both recalculations."""
    ours, bare, cells = writing(study, folder)
    found = [
        Row(
            f"the demo's workbook written, {cells:,} cells",
            seconds(ours),
            f"openpyxl's bare dump of the same cells {seconds(bare)}, ratio {ours / bare:.2f}",
        ),
        Row("its finishing pass", f"{finishing(study, folder):.0%}", "of writing"),
    ]
    copy = folder / "stripped.xlsx"
    stripped(folder / "out.xlsx", copy)
    found.append(recalculated_by_ironcalc(copy))
    found.append(recalculated_by_libreoffice(copy, folder))
    return found


def writing(study: Study, folder: Path) -> tuple[float, float, int]:
    """Seconds for writing the finished workbook, for a bare dump of the same cells in the same styles, and their number."""
    values, path = study.evaluate(), folder / "out.xlsx"
    ours = median(lambda: write_workbook(study, values, path), 3)
    cells = [
        (
            sheet.title,
            [
                (cell.row, cell.column, cell.value, cell.style, cell.number_format)
                for row in sheet.iter_rows()
                for cell in row
                if cell.value is not None
            ],
        )
        for sheet in load_workbook(path).worksheets
    ]

    def dump() -> None:
        bare = Workbook()
        add_styles(bare)
        for title, held in cells:
            sheet = bare.create_sheet(title)
            for row, column, value, style, shown in held:
                cell = sheet.cell(row, column, value)
                cell.style = style
                cell.number_format = shown
        bare.save(folder / "bare.xlsx")

    return ours, median(dump, 3), sum(len(held) for _, held in cells)


def finishing(study: Study, folder: Path) -> float:
    """The finishing pass as a share of writing the whole workbook."""
    values, path, spent = study.evaluate(), folder / "out.xlsx", []
    real = write.finish

    def timed(*args: object, **more: object) -> None:
        begun = time.perf_counter()
        real(*args, **more)  # type: ignore[arg-type]
        spent.append(time.perf_counter() - begun)

    write.finish = timed
    try:
        whole = median(lambda: write_workbook(study, values, path), 3)
    finally:
        write.finish = real
    return statistics.median(spent) / whole


def recalculated_by_ironcalc(path: Path) -> Row:
    """Every formula worked anew; loading the file stands beside it."""
    begun = time.perf_counter()
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    loaded = time.perf_counter() - begun
    model.evaluate()
    return Row(
        "IronCalc recalculates it", seconds(median(model.evaluate, 3)), f"loading it {seconds(loaded)}"
    )


def recalculated_by_libreoffice(path: Path, folder: Path) -> Row:
    """Loaded, recalculated and saved by a fresh LibreOffice; the same of an empty workbook stands beside it."""
    what = "LibreOffice loads, recalculates and saves it"
    if why := libreoffice_missing():
        return Row(what, "not measured", why)
    empty = folder / "empty.xlsx"
    Workbook().save(empty)

    def convert(book: Path) -> None:
        subprocess.run(
            [
                "soffice",
                "--headless",
                f"-env:UserInstallation={(folder / 'profile').as_uri()}",
                "--convert-to",
                "xlsx",
                "--outdir",
                str(folder / "converted"),
                str(book),
            ],
            check=True,
            capture_output=True,
        )

    convert(empty)  # makes the profile
    start = median(lambda: convert(empty), 3)
    took = median(lambda: convert(path), 1)
    return Row(what, seconds(took), f"an empty workbook {seconds(start)}")
