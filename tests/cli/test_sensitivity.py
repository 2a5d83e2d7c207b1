"""`roi sensitivity` as a user runs it: sentences, ranges, bars, grid and maps, JSON, what it refuses."""

import json
import re

import pytest
from click.testing import CliRunner

from roi.answers.sensitivity import Outcome, Sensitivity, Tried, sensitivity
from roi.cli import main
from roi.cli.sensitivity import aligned, bar, folded
from roi.engine.words import fixed
from roi.model.study import build
from roi.scenario.scenario import read
from tests.small_shop import SHOP

# Direct at its lowest price turns the answer; at its coarsest ruling it can't do the work.
CLOSE = SHOP.replace(
    "[methods.direct]",
    "[methods.direct]\n"
    'ruling_limit = { best = "175 lpi", low = "60 lpi", high = "200 lpi" }\n'
    '[methods.direct.plates]\nprice_per_area = { best = "20 USD/m2", low = "2 USD/m2", high = "38 USD/m2" }',
)
NAMES = {"polyester": "Polyester", "direct": "Direct"}


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(CLOSE, encoding="utf-8")
    return path


def run(*words, columns=80, **more):
    env = {"COLUMNS": str(columns)}
    return CliRunner().invoke(main, ["sensitivity", *(str(w) for w in words)], env=env, **more)


@pytest.fixture
def told(shop, tmp_path):
    """What is printed, line by line, and the JSON."""
    out = tmp_path / "out.json"
    done = run(shop, "--json", out)
    assert done.exit_code == 0, done.output
    assert f"Written: {out}" in done.output
    return done.output.splitlines(), json.loads(out.read_text(encoding="utf-8"))


def after(lines, start):
    """The lines of a part, from the one that begins so to the next empty one."""
    first = next(i for i, line in enumerate(lines) if start in line)
    part = lines[first + 1 :]
    return part[: part.index("")]


def test_words_come_first(told):
    lines, found = told
    text = " ".join(" ".join(lines[: lines.index("", 2)]).split())
    assert text.startswith(f"Invented shop Polyester is ahead by USD {fixed(found['lead'], 0)} a year.")
    one = "Several of the 12 widest inputs" if found["turning"] > 1 else "One of the 12 widest inputs"
    assert one in text and f"{found['left_out']} others with a range move it less" in text
    assert text.endswith(
        "In cash, after tax, USD a year. Each input over its own range, the others at their best."
    )


def test_ranges_and_leads_are_those_of_the_json(told):
    lines, found = told
    table = after(lines, "    Input")
    ranked = [line for line in table if re.match(r" *\d+  ", line)]
    assert len(ranked) == len(found["inputs"]) == 12
    bars = [line for line in after(lines, " moves the lead of ") if re.match(r" *\d+  ", line)]
    for line, drawn, one in zip(ranked, bars, found["inputs"], strict=True):
        rank, label, *_ = re.split(r"  +", line.strip())
        assert int(rank) == one["rank"] and one["label"].startswith(label)
        shown = [f"{one[end]:,.6g}{' %' if '%' in one['unit'] else ''}" for end in ("low", "best", "high")]
        assert re.split(r"  +", line.strip())[-3:] == shown
        leads = [
            text
            for end in ("at_low", "at_high")
            for text in (
                "none" if one[end]["lead"] is None else fixed(one[end]["lead"], 0),
                NAMES[one[end]["cheapest"]],
            )
        ]
        assert drawn.split()[1:5] == leads
    # A percentage is told as such.
    assert any(line.endswith("0 %   25 %    32 %") or re.search(r" 0 % +25 % +32 %$", line) for line in table)


def test_grid_and_maps_are_those_of_the_json(told):
    lines, found = told
    rows = after(lines, "Cheapest method")[1:]
    assert [line.split()[1:] for line in rows] == [
        [NAMES[name] for name in row] for row in found["grid"]["cheapest"]
    ]
    assert [float(line.split()[0].replace(",", "")) for line in rows] == pytest.approx(
        found["grid"]["down"]["values"], rel=1e-5
    )
    leads = after(lines, "Lead of Polyester, USD a year")[1:]
    assert [line.split()[1:] for line in leads] == [
        ["none" if lead is None else fixed(lead, 0) for lead in row] for row in found["grid"]["lead"]
    ]
    titles = {
        "forms": "Cheapest method with as many forms a year",
        "impressions": "Cheapest method with as many impressions a year",
    }
    assert [each["held"] for each in found["maps"]] == list(titles)
    for each in found["maps"]:
        first = next(i for i, line in enumerate(lines) if line.startswith(titles[each["held"]]))
        heads = [i for i, line in enumerate(lines) if i > first and line.startswith("Mean run")][:2]
        # Nine volumes don't fit on 80 columns: the table goes on below with the run lengths once more.
        assert "".join(lines[heads[0]].split()[4:] + lines[heads[1]].split()[4:]) == "".join(
            fixed(x, 0) for x in each["plates_a_month"]
        )
        for i, row in enumerate(each["cheapest"]):
            parts = [lines[head + 1 + i].split() for head in heads]
            assert {part[0] for part in parts} == {fixed(each["impressions_a_form"][i], 0)}
            assert parts[0][3:] + parts[1][3:] == [NAMES[name] for name in row]


@pytest.mark.parametrize("columns", [40, 80, 100, 200])
def test_lines_keep_to_the_terminal(shop, columns):
    """Never narrower than 80, never wider than 100."""
    done = run(shop, columns=columns)
    longest = max(map(len, done.output.splitlines()))
    assert longest == min(max(columns, 80), 100)


def test_emphasis_goes_with_no_color(shop):
    assert "\x1b[1m" in run(shop, color=True).output
    plain = CliRunner().invoke(main, ["sensitivity", str(shop)], env={"NO_COLOR": "1"}, color=True)
    assert plain.exit_code == 0 and "\x1b" not in plain.output


def test_bars_by_their_figures(shop):
    """101 columns over the leads' span: one column for each hundredth of it."""
    study = build(read(shop))
    found = sensitivity(study, study.evaluate())
    least, most = found.span

    def column(lead):
        return round(100 * (lead - least) / (most - least))

    best, nought = column(found.best.lead), column(0)
    assert least < 0 < most
    drawn = set()
    for tried in found.inputs:
        text = bar(found, tried, 101)
        assert len(text) == 101 and text[best] == "|" and text[nought] in ":LHX"
        for end, letter in ((tried.at_low, "L"), (tried.at_high, "H")):
            if end.lead is not None and column(end.lead) != best:
                assert text[column(end.lead)] in (letter, "X")
                drawn.add(letter)
            elif end.lead is None:
                assert letter not in text
        strokes = {
            i
            for end in (tried.at_low, tried.at_high)
            if end.lead is not None
            for i in range(min(column(end.lead), best), max(column(end.lead), best) + 1)
        }
        assert {i for i, char in enumerate(text) if char != " "} == strokes | {best, nought}
    assert drawn == {"L", "H"}


def drawn_by_hand(best, *ends, columns=11):
    """Bars of inputs with these leads at low and high, of the method `a`."""
    inputs = tuple(
        Tried("k", "Input", "1", False, 0, 1, 2, Outcome("a", low), Outcome("a", high), 0.0)
        for low, high in ends
    )
    found = Sensitivity((), "", Outcome("a", best), 0, 0, inputs, None, ())
    return [bar(found, tried, columns) for tried in inputs]


def test_bars_worked_by_hand():
    """Leads from -20 to 80 over 11 columns, ten a column: 20 stands in the fifth, nought in the third."""
    assert drawn_by_hand(20, (-20, 80), (50, 80), (80, 50), (0, None), (20, 40), (60, 60)) == [
        "L-:-|=====H",
        "  : |--L==H",
        "  : |==H--L",
        "  L-|      ",
        "  : |=H    ",
        "  : |===X  ",
    ]
    # No lead falls to nought: no mark of it.
    assert drawn_by_hand(20, (10, 60), columns=6) == ["L|===H"]


def test_tables_are_aligned_and_folded():
    rows = [("", "one", "two", "three"), ("a", "1", "22", "333"), ("bb", "4444", "5", "6")]
    assert aligned(rows, "lrrr") == ["     one  two  three", "a      1   22    333", "bb  4444    5      6"]
    # 18 columns hold the side and two of the three; blocks of like size.
    assert [len(block[0].split()) for block in folded(rows, 1, 18)] == [2, 1]
    assert folded(rows, 1, 80) == [aligned(rows, "rrrr")]
    # Narrower than any one column, each stands alone.
    assert [block[0].split() for block in folded(rows, 1, 5)] == [["one"], ["two"], ["three"]]


def test_json_shape(told):
    _, found = told
    assert set(found) == {
        "scenario", "currency", "cheapest", "lead", "turning", "left_out", "inputs", "grid", "maps"
    }  # fmt: skip
    assert (found["scenario"], found["currency"], found["cheapest"]) == ("Invented shop", "USD", "polyester")
    assert set(found["grid"]) == {"down", "across", "cheapest", "lead"}
    assert set(found["grid"]["down"]) == {"key", "label", "unit", "values"}
    assert set(found["maps"][0]) == {
        "held", "impressions_a_form", "share_of_own_run", "plates_a_month", "cheapest"
    }  # fmt: skip
    assert {name for row in found["maps"][0]["cheapest"] for name in row} <= {"polyester", "direct"}
    assert found["lead"] != round(found["lead"], 2)


def test_a_shop_with_one_method_that_can_serve(tmp_path):
    path = tmp_path / "shop.toml"
    text = SHOP.replace("[methods.direct]", "[methods.bought_in]") + "confined = 1.0\n"
    path.write_text(text, encoding="utf-8")
    done = run(path)
    assert done.exit_code == 0, done.output
    said = " ".join(done.output.split())
    assert "No input, alone and within its range, moves the lead." in said
    assert "|" not in done.output


def test_bad_files_are_refused(shop, tmp_path):
    missing = run(tmp_path / "none.toml")
    assert missing.exit_code == 2 and "1 problem to mend." in missing.stderr
    broken = tmp_path / "broken.toml"
    broken.write_text(SHOP.replace('"USD"', '"ZZZ"'), encoding="utf-8")
    wrong = run(broken)
    assert wrong.exit_code == 2 and "currency" in wrong.stderr and "mend:" in wrong.stderr
    done = run(shop, "--json", tmp_path / "out.txt")
    assert done.exit_code == 2 and "does not end in .json" in " ".join(done.stderr.split())
    assert run(shop, "--json", shop.with_suffix(".TOML")).exit_code == 2
    assert shop.read_text(encoding="utf-8") == CLOSE


@pytest.mark.parametrize("words", [["--help"], ["sensitivity", "--help"]])
def test_help_fits_80_columns(words):
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0 and all(len(line) <= 80 for line in done.output.splitlines())
    assert "sensitivity" in done.output
