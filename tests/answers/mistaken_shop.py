"""The small shop with a mistake put into it, and what one rule says of it."""

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from roi.answers.case import Case
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

DIRECT, POLYESTER, SHOPWIDE = (f"\n[{key}]\n" for key in ("methods.direct", "methods.polyester", "shop"))
LINE, OLD_LINE = (f"\n[methods.{m}.equipment.line]\n" for m in ("direct", "polyester"))
OWNED = 'years_left = "4 year"'


def case_of(folder, more="", *changes):
    """The shop with texts replaced (old, new) and text added, worked."""
    text = SHOP
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = folder / "shop.toml"
    path.write_text(text + more, encoding="utf-8")
    study = build(read(path))
    return Case(study, study.evaluate())


def told(folder, rule, more="", *changes):
    """What one rule says of the shop with text replaced and added, as texts."""
    return [str(problem) for problem in rule(case_of(folder, more, *changes))]


@cache
def unchanged():
    """The shop as it is, worked once for all who ask."""
    with TemporaryDirectory() as folder:
        return case_of(Path(folder))


def check_fires(folder, rule, more, changes, says):
    """A rule keeps silent on the shop as it is, and tells one problem of it changed, with where and mend."""
    assert list(rule(unchanged())) == []
    found = told(folder, rule, more, *changes)
    assert len(found) == 1
    assert says in found[0]
    assert found[0].startswith("shop.toml, ") and "\n  mend: " in found[0]
