"""The Risk sheet: what it shows is what the draws say, and it tells when inputs or ranges have been changed since."""

from datetime import UTC, datetime

import numpy as np
import pytest
from openpyxl import load_workbook

from roi.answers.risk import usual_risk
from roi.answers.risk_words import sentences
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.template import Template
from roi.workbook.write import write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import SHOP
from tests.workbook.rules import broken_rules

WITH_RISK = Template(sheets=("Summary", "Inputs", "Risk"))
ABLE = SHOP.replace(
    "[methods.direct]",
    '[methods.direct]\nruling_limit = "175 lpi"\n'
    '[methods.direct.plates]\nprice_per_area = { best = "12 USD/m2", low = "2 USD/m2", high = "30 USD/m2" }',
).replace(
    "[methods.polyester.",
    '[methods.polyester]\nruling_limit = { best = "150 lpi", low = "150 lpi", high = "150 lpi" }\n'
    "[methods.polyester.",
)  # fmt: skip
SETTINGS = "[risk]\ndraws = 600\nseed = 2\n"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("risk")
    (folder / "shop.toml").write_text(ABLE + SETTINGS, encoding="utf-8")
    study = build(read(folder / "shop.toml"))
    results = write_workbook(study, study.evaluate(), folder / "out.xlsx", WITH_RISK)
    return study, folder / "out.xlsx", results


def cells(path):
    return {
        (c.row, c.column): c
        for row in load_workbook(path)["Risk"].iter_rows()
        for c in row
        if c.value is not None
    }


def test_the_sheet_breaks_no_rule(written):
    assert broken_rules(written[1]) == []


def test_words_date_and_figures_are_those_of_the_draws(written):
    study, path, _ = written
    found, every = usual_risk(study), cells(path)
    texts = [str(c.value) for c in every.values() if isinstance(c.value, str)]
    said = " ".join(text for text in texts if not text.startswith("="))
    for sentence in sentences(study, found):
        assert sentence in said
    assert f"Drawn on {datetime.now(UTC).date().isoformat()}: 600 draws, seed 2." in said
    rows = {c.value: c.row for (_, column), c in every.items() if column == 1}
    measures = {
        "Is the cheapest, in cash": "chance",
        "Is the cheapest, at full cost": "chance_full",
        "Expected regret of choosing it": "regret",
    }
    for label, part in measures.items():
        shown = [every[rows[label], 3 + i].value for i in range(len(found.methods))]
        assert shown == pytest.approx([getattr(m, part) for m in found.methods.values()])
    at = rows["Saving: 10 % of draws lie below"]
    assert every[at, 3].value == "none"  # the current method against itself
    assert every[at, 4].value == pytest.approx(found.methods["direct"].saving.p10)
    for (_, column), cell in every.items():
        if column > 2 and isinstance(cell.value, int | float):
            assert cell.style == "Data"


def test_worths_histogram_and_curve(written):
    study, path, _ = written
    found, every = usual_risk(study), cells(path)
    rows = {c.value: c.row for (_, column), c in every.items() if column == 1}
    assert every[rows["All inputs together: never worth more than"], 3].value == pytest.approx(
        found.knowing_all
    )
    known = found.knowing[0]
    assert known.value > 0 and every[rows[known.label], 3].value == pytest.approx(known.value)
    shares = [every[rows[f"Bin {i + 1}"], 6].value for i in range(20)]
    assert sum(shares) == pytest.approx(1)
    edges = [(every[rows[f"Bin {i + 1}"], 3].value, every[rows[f"Bin {i + 1}"], 4].value) for i in range(20)]
    inside = [np.mean((found.savings >= low) & (found.savings < high)) for low, high in edges[:-1]]
    assert shares[:-1] == pytest.approx(inside, abs=1 / 600)  # one draw may stand on an edge
    assert every[rows["50 % of the draws"], 3].value == pytest.approx(np.median(found.savings))
    assert every[rows["P50"], 3].value == pytest.approx(found.methods["direct"].saving.p50)
    charts = load_workbook(path)["Risk"]._charts
    assert len(charts) == 2


def test_it_says_when_an_input_or_a_range_has_been_changed(written):
    """IronCalc, after stripping stored results: nothing changed, then a value, then the low end of another input."""
    _, path, results = written
    book = IronCalcBook(path)
    assert differences(results, book.values()) == []
    assert book.value("Risk", "A3").startswith("As delivered")
    sheet = load_workbook(path)["Inputs"]
    row = {c.value: c.row for c in sheet["I"]}
    book.set("Inputs", f"C{row['methods.polyester.plates.price_per_area']}", 15.0)
    book.evaluate()
    assert book.value("Risk", "A3") == "Out of date: inputs or ends of ranges changed since: 1"
    book.set("Inputs", f"D{row['shop.electricity']}", 0.01)
    book.set("Inputs", f"E{row['shop.electricity']}", 0.9)
    book.evaluate()
    assert book.value("Risk", "A3") == "Out of date: inputs or ends of ranges changed since: 3"
    # What was drawn stays as it was.
    assert [
        d
        for d in differences(results, book.values())
        if d.startswith("Risk!") and "A3" not in d and "C" not in d
    ] == []


def test_a_shop_in_which_nothing_can_be_told_still_makes_a_sheet(tmp_path):
    coarse = 'ruling_limit = { best = "60 lpi", low = "50 lpi", high = "70 lpi" }\n'
    text = SHOP.replace("[methods.polyester.", f"[methods.polyester]\n{coarse}[methods.polyester.")
    text = text.replace("[methods.direct]", f"[methods.direct]\n{coarse}") + "confined = 1.0\n" + SETTINGS
    (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    study = build(read(tmp_path / "shop.toml"))
    write_workbook(study, study.evaluate(), tmp_path / "out.xlsx", WITH_RISK)
    assert broken_rules(tmp_path / "out.xlsx") == []
    book = load_workbook(tmp_path / "out.xlsx")
    assert str(book["Risk"]["A4"].value).startswith("No method can do this work")
    assert book["Risk"]._charts == []
