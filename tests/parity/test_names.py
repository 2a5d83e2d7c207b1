"""Names that a shop gives, as sentences fetch them from the workbook: recalculated by IronCalc, stored results stripped first."""

from openpyxl import load_workbook

from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.write import write_workbook
from tests.parity.recalculate import IronCalcBook, differences
from tests.small_shop import LEAN, SHOP


def test_a_method_whose_name_begins_small_is_told_as_it_is_written(tmp_path):
    (tmp_path / "shop.toml").write_text(SHOP + "\n[methods.polyester]\nshort = 'old plates'\n")
    study, path = build(read(tmp_path / "shop.toml")), tmp_path / "out.xlsx"
    results = write_workbook(study, study.evaluate(), path, LEAN)
    heads = [cell.value for cell in load_workbook(path)["Comparison"][4]]
    assert "old plates" in heads
    assert differences(results, IronCalcBook(path).values()) == []
