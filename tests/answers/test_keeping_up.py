"""The verdict says once, plainly, when the cheapest method's line is tight or can't make the busiest day's plates.

The small shop: 300 plates a month of 330 x 492 mm on polyester, 1 min and 12.5 min/m2 a plate, so 3.03 min at its one station,
15 min of warming up, a shift of 8 hours: 465 min. Direct costs more and never wins here.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from roi.answers.mistakes import beside_the_verdict, mistakes
from roi.answers.verdict import sentences
from roi.cli import main
from roi.engine.evaluate import Values
from roi.model.study import Study, build
from roi.scenario.scenario import read
from roi.workbook.write import results_of, write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP


def shop(folder: Path, more: str = "", plates: int = 300) -> Study:
    path = folder / "shop.toml"
    path.write_text(SHOP.replace("small = 300", f"small = {plates}") + more, "utf-8")
    return build(read(path))


def about_keeping_up(study: Study, values: Values) -> list[str]:
    return [
        text
        for text in sentences(study, values)
        if "busiest day" in text or "of the shift" in text
    ]  # fmt: skip


def figure(study: Study, values: Values, name: str) -> float:
    return float(values[study.methods["polyester"].lines[f"capacity.{name}"]].flat[0])


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Study:
    return shop(tmp_path_factory.mktemp("shop"))


def test_a_line_that_keeps_up_is_not_spoken_of(study: Study) -> None:
    values = study.evaluate()
    assert figure(study, values, "use.busy") < 0.85
    assert about_keeping_up(study, values) == []


def test_a_tight_line_is_said_with_how_tight(study: Study) -> None:
    """The limit put just below the busy day's use; just above it nothing is said."""
    busy = figure(study, study.evaluate(), "use.busy")
    said = about_keeping_up(study, study.evaluate({"shop.tight_above": busy - 0.001}))
    assert said == [f"Polyester is tight: {100 * busy:.0f} % of the shift on a busy day."]
    assert about_keeping_up(study, study.evaluate({"shop.tight_above": busy + 0.001})) == []


def test_a_line_that_does_not_fit_the_shift_is_said_with_the_overtime(study: Study) -> None:
    """Twenty times the work: the busiest day's plates by proportion, and the overtime that stands beside the costs."""
    values = study.evaluate({"work.volume": 12.0})
    wanted, hours = figure(study, values, "worst_plates"), figure(study, values, "worst_hours")
    assert 8 < hours <= 24
    made = figure(study, values, "worst_can")
    assert made == int(wanted * 465 / figure(study, values, "minutes.worst"))
    overtime = figure(study, values, "overtime")
    (said,) = about_keeping_up(study, values)
    assert said == (
        "Polyester can't make the busiest day's plates within the shift: "
        f"{wanted:,.0f} are wanted; {made:,.0f} can be made. Overtime of USD {overtime:,.0f} a year is not in these costs."
    )


def test_counted_overtime_is_said_to_be_in_the_costs(tmp_path: Path) -> None:
    study = shop(tmp_path, "[shop]\ncount_plate_overtime = true\n")
    (said,) = about_keeping_up(study, study.evaluate({"work.volume": 12.0}))
    assert said.endswith(" can be made. Overtime, or further units, is in these costs.")


def test_what_even_24_hours_can_not_do_is_said_once(tmp_path: Path) -> None:
    """On page one and on the screen the verdict says it, and the list of likely mistakes beside it doesn't again.

    `roi check`, which gives no verdict, tells it with the mend.
    """
    study = shop(tmp_path, plates=12000)
    values = study.evaluate()
    (said,) = about_keeping_up(study, values)
    hours = figure(study, values, "worst_hours")
    assert hours > 24
    assert f" they take {hours:,.0f} hours, and it is costed as if it could." in said
    assert "even around the clock" in said
    slow = [
        [p for p in found(study, values) if "hours at the slowest station" in p.what]
        for found in (mistakes, beside_the_verdict)
    ]
    assert any("Polyester" in p.what for p in slow[0])
    assert [p for p in slow[0] if "Polyester" not in p.what] == slow[1]


def test_the_screen_says_it(tmp_path: Path) -> None:
    shop(tmp_path, plates=12000)
    words = ["compare", str(tmp_path / "shop.toml"), "-o", str(tmp_path / "out.xlsx")]
    shown = " ".join(CliRunner().invoke(main, words).output.split())
    assert shown.count("can't make the busiest day's plates even around the clock") == 1
    assert "Polyester: the busiest day's plates" not in shown


@pytest.mark.parametrize("sentences", [("Verdict", "Keeping up"), ("Verdict",)])
def test_page_one_says_it_once_whatever_its_template(tmp_path: Path, sentences: tuple[str, ...]) -> None:
    """In the sentence where the template shows it, else among the likely mistakes."""
    study = shop(tmp_path, plates=12000)
    look = replace(LEAN, sentences=sentences)
    shown = [str(text) for text in results_of(study, {}, look)["Summary"].values()]
    write_workbook(study, study.evaluate(), tmp_path / "out.xlsx", look)
    page = load_workbook(tmp_path / "out.xlsx")["Summary"]
    shown += [str(cell.value) for cell in page["A"]]
    spoken = sum("can't make the busiest day's plates even around the clock" in text for text in shown)
    listed = sum("Polyester: the busiest day's plates" in text for text in shown)
    assert (spoken, listed) == ((1, 0) if "Keeping up" in sentences else (0, 1))


def test_the_workbook_says_it_live(tmp_path: Path) -> None:
    """Delivered silent; after changes in IronCalc the sentence of page one is the engine's, in every case."""
    study = shop(tmp_path)
    path = tmp_path / "out.xlsx"
    write_workbook(study, study.evaluate(), path, LEAN)
    book = IronCalcBook(path)
    cell = next(
        name
        for name, value in book.values()["Words"].items()
        if name.startswith("A") and value == "Keeping up"
    ).replace("A", "C")
    assert str(book.value("Words", cell)).strip() == ""
    volume = next(
        name
        for name, value in book.values()["Inputs"].items()
        if name.startswith("I") and value == "work.volume"
    ).replace("I", "C")
    for share, words in (
        (9.0, "is tight"),
        (12.0, "within the shift"),
        (60.0, "around the clock"),
        (1.0, ""),
    ):
        book.set("Inputs", volume, share)
        book.evaluate()
        after = results_of(study, {"work.volume": share}, LEAN)
        found = [
            d
            for d in differences(after, book.values())
            if not d.startswith("Changes!") and "engine 0," not in d
        ]
        assert found == []
        (said,) = about_keeping_up(study, study.evaluate({"work.volume": share})) or [""]
        assert " ".join(str(book.value("Words", cell)).split()) == said
        assert words in said
