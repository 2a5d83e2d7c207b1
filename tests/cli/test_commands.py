"""The commands as a user runs them: what they print and write, how they exit, what they leave alone."""

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from click.testing import CliRunner

import roi
from roi.cli import main
from roi.cli.compare import _money
from roi.cli.reading import Progress, wrapped
from tests.small_shop import SHOP


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return path


def run(*words, **more):
    return CliRunner().invoke(main, [str(w) for w in words], **more)


@pytest.fixture
def fake_workbook(monkeypatch):
    """Stands for the writer of workbooks, so that these tests say something about the command line only."""
    monkeypatch.setattr(
        "roi.workbook.write.write_workbook",
        lambda study, values, file, template: file.write(b"workbook"),
    )


def test_compare_writes_both_files_and_prints_the_verdict(shop, tmp_path, fake_workbook):
    out, result = tmp_path / "out.xlsx", tmp_path / "out.json"
    done = run("compare", shop, "-o", out, "--json", result)
    assert done.exit_code == 0, done.output
    assert out.read_bytes() == b"workbook"
    found = json.loads(result.read_text(encoding="utf-8"))
    for method in found["methods"].values():
        assert f"{method['first_cost']:,.0f}" in done.output
        assert f"{method['cost_per_plate']:,.2f}" in done.output
    assert f"{len(found['defaults_in_use'])} figures in use" in done.output
    assert f"Checks: {len(found['checks'])} of {len(found['checks'])} pass." in done.output
    assert all(len(line) <= 80 for line in done.output.splitlines() if str(tmp_path) not in line)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.json", "out.xlsx", "shop.toml"]


def test_compare_exits_1_when_a_check_fails(shop, tmp_path, fake_workbook, monkeypatch):
    monkeypatch.setattr(
        "roi.answers.compare.results", lambda study, values: [("sums", True), ("plates", False)]
    )
    done = run("compare", shop, "-o", tmp_path / "out.xlsx")
    assert done.exit_code == 1
    assert "Checks: 1 of 2 pass." in done.output and "failed: plates" in done.output


def test_a_failed_write_leaves_the_old_files_whole(shop, tmp_path, fake_workbook, monkeypatch):
    def fail(study, values, file, template):
        file.write(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("roi.workbook.write.write_workbook", fail)
    (tmp_path / "out.xlsx").write_bytes(b"old")
    done = run("compare", shop, "-o", tmp_path / "out.xlsx", "--json", tmp_path / "out.json")
    assert done.exit_code == 2
    assert "out.xlsx: can't be written: No space left on device" in " ".join(done.stderr.split())
    assert (tmp_path / "out.xlsx").read_bytes() == b"old"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.xlsx", "shop.toml"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "out.xls"], "does not end in .xlsx"),
        (["-o", "none/out.xlsx"], "does not exist"),
        (["-o", "folder.xlsx"], "is a folder"),
        (["-o", "kept.xlsx"], "is read-only"),
        (["-o", "out.xlsx", "--json", "shop.toml"], "is a file the scenario is read from"),
        (["-o", "log.xlsx"], "is a file the scenario is read from"),
        (["-o", "linked.xlsx"], "is a file the scenario is read from"),
        (["-o", "out.xlsx", "--json", "out.xlsx"], "is the workbook's file too"),
    ],
)
def test_an_output_that_must_not_be_written_is_refused(shop, tmp_path, monkeypatch, words, says):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder.xlsx").mkdir()
    (tmp_path / "kept.xlsx").write_bytes(b"kept")
    (tmp_path / "kept.xlsx").chmod(0o444)
    (tmp_path / "log.xlsx").write_bytes(b"log")
    os.link(tmp_path / "log.xlsx", tmp_path / "linked.xlsx")
    shop.write_text(SHOP[: SHOP.index("[summary]")] + '[log]\nfile = "log.xlsx"\n', encoding="utf-8")
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()}
    done = run("compare", "shop.toml", *words)
    assert done.exit_code == 2
    assert says in " ".join(done.stderr.split()) and "mend: " in done.stderr
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()} == before


@pytest.mark.parametrize("command", [["check"], ["explain", "x"], ["compare", "-o", "out.xlsx"]])
@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("not toml", "is not TOML"),
        (SHOP.replace("USD", "USX"), "no ISO 4217 code"),
        (SHOP + "\n[shop]\npapr = 3\nwork_dys = 3\n", "2 problems"),
        (None, "does not exist"),
    ],
)
def test_bad_input_is_told_without_a_traceback(tmp_path, monkeypatch, command, text, says):
    monkeypatch.chdir(tmp_path)
    if text is not None:
        (tmp_path / "shop.toml").write_text(text, encoding="utf-8")
    done = run(command[0], "shop.toml", *command[1:])
    assert done.exit_code == 2
    assert isinstance(done.exception, SystemExit)
    assert says in " ".join(done.output.split())
    assert not (tmp_path / "out.xlsx").exists()


def test_check_tells_mistakes_with_where_and_mend(shop):
    with shop.open("a", encoding="utf-8") as file:
        file.write('\n[methods.direct.remakes]\nown = "0 %"\n')
    done = run("check", shop)
    assert done.exit_code == 1
    assert "shop.toml, methods.direct.remakes.own: no plate is remade" in " ".join(done.output.split())
    assert "mend: " in done.output
    assert all(len(line) <= 80 for line in done.output.splitlines())


def test_check_exits_0_only_when_nothing_was_found(shop, monkeypatch):
    monkeypatch.setattr("roi.cli.check.mistakes", lambda study, values: [])
    done = run("check", shop)
    assert done.exit_code == 0
    assert done.output.endswith("No problems, no likely mistakes.\n")


def test_explain_follows_a_figure_to_its_inputs(shop):
    done = run("explain", shop, "Prepress, loaded rate")
    assert done.exit_code == 0
    text = " ".join(done.output.split())
    # 23 USD/h with on-costs of 25 %.
    assert "Prepress, loaded rate: 28.75 USD/h" in text
    assert "Prepress, wage: 23 USD/h (18" in text
    assert "Prepress, on-costs of the wage: 25 %" in text
    assert "default" in text and "from memory, verify" in text
    assert "key: grades.prepress.wage" in text
    assert all(len(line) <= 80 for line in done.output.splitlines())


def test_explain_shows_blocks_short_and_one_row_on_request(shop):
    text = run("explain", shop, "shop.Discount factor", "--depth", 0).output
    # 1.08 to the powers of -1, -2, -3 and -10, at 8 % a year: year 3 is left out, year 10 is the last.
    assert all(figure in text for figure in ("0.925926", "0.857339", "0.463193")) and "0.793832" not in text
    row = run("explain", shop, "shop.Discount factor", "--row", 3, "--depth", 0).output
    assert "0.857339" in row and "0.925926" not in row
    done = run("explain", shop, "shop.Discount factor", "--row", 12)
    assert done.exit_code == 2 and "has 11 rows" in " ".join(done.stderr.split())


def test_explain_tells_apart_lines_of_one_label(shop):
    done = run("explain", shop, "Present cost")
    assert done.exit_code == 2
    assert "direct.Present cost" in done.stderr and "polyester.Present cost" in done.stderr
    done = run("explain", shop, "direct.Presnt cost")
    assert done.exit_code == 2 and "direct.Present cost" in done.stderr


def test_every_line_can_be_explained(shop):
    from roi.answers.explain import explain, find
    from roi.model.study import build
    from roi.scenario.scenario import read

    study = build(read(shop))
    values = study.evaluate()
    for line in study.book.lines:
        assert find(study, line.key) is line
        assert list(explain(study, values, line, 1))


@pytest.mark.parametrize("words", [[], ["compare"], ["check"], ["explain"]])
def test_help_fits_80_columns(words):
    done = run(*words, "--help")
    assert done.exit_code == 0
    assert all(len(line) <= 80 for line in done.output.splitlines())


def test_usage_errors_exit_2(shop):
    assert run("compare", shop).exit_code == 2
    assert run("explain", shop).exit_code == 2
    assert run("nonsense").exit_code == 2


def test_the_version_is_that_of_the_package():
    assert roi.__version__ in run("--version").output


def test_no_color_is_respected(shop):
    assert "\x1b[" in run("check", shop, color=True).output
    assert "\x1b[" not in run("check", shop, color=True, env={"NO_COLOR": "1"}).output


def test_help_loads_nothing_heavy():
    code = (
        "import sys\nfrom roi.cli import main\nmain(['--help'], standalone_mode=False)\n"
        "print([m for m in ('numpy', 'openpyxl', 'pint', 'numpy_financial') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.endswith("[]\n")


class Terminal:
    def __init__(self, tty):
        self.text, self.tty = "", tty

    def isatty(self):
        return self.tty

    def write(self, text):
        self.text += text

    def flush(self):
        pass


@pytest.mark.parametrize(("tty", "wait", "shown"), [(True, 0.2, True), (False, 0.2, False), (True, 0, False)])
def test_progress_is_shown_late_and_at_a_terminal_only(monkeypatch, tty, wait, shown):
    terminal = Terminal(tty)
    monkeypatch.setattr(sys, "stderr", terminal)
    with Progress(patience=0.05) as progress:
        progress.step("Reckoning")
        time.sleep(wait)
    assert ("Reckoning ..." in terminal.text) is shown


def test_a_long_word_stays_whole():
    assert wrapped("/a" * 60) == "/a" * 60


@pytest.mark.parametrize("words", [["check"], ["explain", "shop.work_days"], ["compare", "-o", "out.xlsx"]])
@pytest.mark.parametrize("target", ["full", "closed", "pipe"])
def test_a_stdout_that_takes_nothing_is_told_without_a_traceback(shop, tmp_path, words, target):
    # The package is found from the place the tests run in, so outputs are named in full.
    code = "from roi.cli import main; main()"
    words = [str(tmp_path / w) if w.endswith(".xlsx") else w for w in words]
    command = [sys.executable, "-c", code, words[0], str(shop), *words[1:]]
    if target == "closed":
        command = ["/bin/sh", "-c", 'exec "$@" >&-', "sh", *command]
        done = subprocess.run(command, stderr=subprocess.PIPE, text=True)
    elif target == "pipe":
        reader, writer = os.pipe()
        os.close(reader)
        done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, text=True)
        os.close(writer)
    else:
        if not os.path.exists("/dev/full"):
            pytest.skip("no /dev/full here")
        with open("/dev/full", "w") as full:
            done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    if target == "pipe":  # nobody wants it: ended as a shell tells a broken pipe, without a word
        assert (done.returncode, done.stderr) == (128 + signal.SIGPIPE, "")
    else:
        assert done.returncode == 2, done.stderr
        assert "can't print: stdout" in done.stderr
    assert "Traceback" not in done.stderr and "Exception ignored" not in done.stderr


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full here")
def test_help_that_cannot_be_printed_exits_2():
    command = [sys.executable, "-c", "from roi.cli import main; main()", "--help"]
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    assert done.returncode == 2 and "Traceback" not in done.stderr


def test_a_folder_that_takes_no_file_is_told_as_such(shop, tmp_path, fake_workbook, monkeypatch):
    def refuse(part, target, content):
        raise PermissionError(13, "Permission denied", str(target))

    monkeypatch.setattr("roi.workbook.in_place._write", refuse)
    done = run("compare", shop, "-o", tmp_path / "out.xlsx")
    said = " ".join(done.stderr.split())
    assert done.exit_code == 2
    assert "no file can be made in the folder" in said and "close it" not in said


def test_compare_tells_the_first_mistakes_and_the_rows_left_out(shop, tmp_path, fake_workbook, monkeypatch):
    from roi.scenario.problems import Problem

    doubts = [Problem(f"shop.toml, key{n}", f"doubt {n}. And more", "mend") for n in range(7)]
    monkeypatch.setattr("roi.cli.compare.beside_the_verdict", lambda study, values: doubts)
    rows = "".join(f"{n},01/{n + 1:02}/2025,2,900\n" for n in range(28)) + "x,01/05/2025,none,900\n"
    (tmp_path / "log.csv").write_text("job,date,plates,good\n" + rows, encoding="utf-8")
    log = '[log]\nfile = "log.csv"\ndate_order = "month-first"\nbad_rows = "skip"\n[log.columns]\n'
    log += 'job = "job"\ndate = "date"\nplates = "plates"\nimpressions = "good"\n'
    shop.write_text(SHOP[: SHOP.index("[summary]")] + log, encoding="utf-8")
    done = run("compare", shop, "-o", tmp_path / "out.xlsx")
    assert done.exit_code == 0, done.output
    assert "- shop.toml, key4: doubt 4\n" in done.output and "key5" not in done.output
    assert "And more" not in done.output and "... and 2 more: roi check" in done.output
    assert "1 of 29 rows of the job log left out" in done.output


def test_money_rounds_halves_up_like_the_sentences():
    """Halves away from zero, as FIXED writes; Python's own rounding gives 2 and 0.12."""
    assert (_money(2.5), _money(0.125, 2), _money(1234.5), _money(None)) == ("3", "0.13", "1,235", "none")
