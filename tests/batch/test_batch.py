"""Batches: the same outcomes on any executor and in order, bad scenarios told, a killed process losing nothing."""

import csv
import json
import multiprocessing
import os
import pickle
import random
import signal
import subprocess
import sys
import time
from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor
from pathlib import Path
from subprocess import PIPE

import pytest
from click.testing import CliRunner
from openpyxl import Workbook

from roi.answers.compare import as_json
from roi.batch import FAILED, LOST, RECKONED, REFUSED, Outcome, batch, in_processes
from roi.cli import main
from roi.cli.batch import run as run_batch
from roi.model.study import build
from roi.scenario.scenario import read
from roi.workbook.cells import put_text
from tests.batch import deadly
from tests.small_shop import SHOP

SHOPS = 4
BAD = "shop_2.toml"


def write_shops(folder, count=SHOPS):
    """Seeded variations of the small shop: more plates, an older machine, a dear wage."""
    draw = random.Random(7)
    for number in range(count):
        text = SHOP.replace("Invented shop", f"Invented shop {number}")
        text = text.replace("small = 300", f"small = {draw.randrange(40, 2000)}")
        text = text.replace('"4 year"', f'"{draw.randrange(0, 7)} year"')
        (folder / f"shop_{number}.toml").write_text(text)
    return sorted(folder.glob("*.toml"))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("clients")
    write_shops(folder)
    (folder / BAD).write_text(SHOP.replace("USD", "USX"))
    return folder


@pytest.fixture(scope="module")
def files(folder):
    return sorted(folder.glob("*.toml"))


@pytest.fixture(scope="module")
def serial(files):
    return list(batch(files))


class Named(Executor):
    """Does nothing itself: each task ends as a test says, by the name of its file."""

    def __init__(self, ends):
        self.ends = ends

    def submit(self, work, file):
        task = Future()
        end = self.ends.get(os.path.basename(file))
        if end is None:
            task.set_result(Outcome(file, RECKONED))
        elif end == "called back":
            task.cancel()
        else:
            task.set_exception(end)
        return task


def test_an_outcome_is_what_compare_says_of_the_scenario(files, serial):
    """Against `roi compare --json`'s own figures for one of them."""
    study = build(read(files[0]))
    found = as_json(study, study.evaluate())
    outcome = serial[0]
    assert (outcome.file, outcome.state, outcome.problems) == (str(files[0]), RECKONED, ())
    assert (outcome.cheapest, outcome.current) == (found["cheapest"], "polyester")
    assert outcome.present_cost == {m: one["present_cost"] for m, one in found["methods"].items()}
    assert outcome.present_cost_full == {m: one["present_cost_full"] for m, one in found["methods"].items()}
    assert outcome.verdict.startswith(("Stay as you are: ", "Changing is "))


def test_a_bad_scenario_is_told_and_stops_no_other(files, serial):
    assert [o.file for o in serial] == [str(f) for f in files]
    assert {o.file: o.state for o in serial if o.state != RECKONED} == {str(files[2]): REFUSED}
    assert "no ISO 4217 code" in serial[2].problems[0].what


def test_any_executor_gives_the_same_in_the_same_order(files, serial):
    with ThreadPoolExecutor(3) as executor:
        assert list(batch(files, executor)) == serial
        assert executor.submit(int, "3").result() == 3  # it is left running


def test_an_outcome_can_be_sent_anywhere(serial):
    assert pickle.loads(pickle.dumps(serial)) == serial


def test_faults_of_the_program_and_of_the_executor_are_outcomes_too(tmp_path):
    names = [tmp_path / name for name in ("a", "b", "c", "d", "e")]
    ends = {"b": ValueError("sum"), "c": BrokenExecutor("gone"), "d": "called back"}
    found = list(batch(names, Named(ends)))
    assert [o.state for o in found] == [RECKONED, FAILED, LOST, LOST, RECKONED]
    assert "ValueError: sum" in found[1].problems[0].what


def test_a_request_to_stop_is_no_outcome(tmp_path):
    found = batch([tmp_path / "a", tmp_path / "b"], Named({"b": KeyboardInterrupt()}))
    assert next(found).state == RECKONED
    with pytest.raises(KeyboardInterrupt):
        next(found)


def test_what_is_not_asked_for_is_called_back(files):
    """One thread is at the second of four when nobody asks for more: the last is never begun."""
    tasks = []

    class Kept(ThreadPoolExecutor):
        def submit(self, *work):
            tasks.append(super().submit(*work))
            return tasks[-1]

    with Kept(1) as executor:
        found = batch(files, executor)
        assert next(found).state == RECKONED
        found.close()
    assert len(tasks) == SHOPS and tasks[-1].cancelled()


def test_a_killed_process_loses_nothing(files, serial, monkeypatch):
    monkeypatch.setattr("roi.batch.SUSPECTS", 1)  # two one by one, and the rest in a fresh pool
    found = []
    for outcome in in_processes(files, 2):
        found.append(outcome)
        if len(found) == 1:
            os.kill(multiprocessing.active_children()[0].pid, signal.SIGKILL)
    assert found == serial, found


def test_a_scenario_that_ends_its_process_again_is_named_and_all_others_are_done(tmp_path, monkeypatch):
    files = write_shops(tmp_path, 3)
    monkeypatch.setattr("roi.batch.reckon", deadly.reckon)
    found = list(in_processes(files, 2))
    assert [o.state for o in found] == [LOST if f.name == deadly.DEADLY else RECKONED for f in files], found
    assert [o.file for o in found] == [str(f) for f in files]
    assert "a process that worked on the batch ended" in found[1].problems[0].what


@pytest.mark.parametrize("path", ["one.toml", b"one.toml", Path("one.toml")])
def test_a_single_path_is_no_batch(path):
    """A text is a row of letters, each of which would be taken for a path."""
    with pytest.raises(TypeError, match="takes several paths"):
        batch(path)
    with pytest.raises(TypeError, match="takes several paths"):
        in_processes(path, 1)


@pytest.mark.parametrize("files", [[], ["one.toml"]])
def test_no_workers_are_refused_whatever_there_is_to_do(files):
    with pytest.raises(ValueError, match="0 workers"):
        in_processes(files, 0)


def run(*words):
    return CliRunner().invoke(main, ["batch", *map(str, words)])


def test_the_command_writes_a_line_a_scenario(folder, serial, tmp_path):
    (folder / "mine.toml").write_text('schema = 1\nlabel = "A method of my own"\n')
    try:
        done = run(folder, "-o", tmp_path / "all.csv", "--json", tmp_path / "all.json")
    finally:
        (folder / "mine.toml").unlink()
    assert done.exit_code == 1, done.output
    said = " ".join(done.output.split())
    assert "4 scenarios, 3 reckoned" in said and "shop_2.toml: refused" in said
    assert "1 file left out, as no scenario: mine.toml" in said
    with (tmp_path / "all.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["file"] for row in rows] == [o.file for o in serial]
    good = [o for o in serial if o.state == RECKONED]
    costs = [float(row["present_cost.direct"]) for row in rows if row["state"] == RECKONED]
    assert costs == [o.present_cost["direct"] for o in good]
    whole = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))["scenarios"]
    assert [one["verdict"] for one in whole] == [o.verdict for o in serial]


def test_changes_are_counted_by_method(tmp_path, monkeypatch, capsys):
    """Four outcomes as stated here: one stays, two change to one method and one to another."""
    cheapest = {"a": "polyester", "b": "direct", "c": "bought_in", "d": "direct"}
    outcomes = [Outcome(f, RECKONED, current="polyester", cheapest=to) for f, to in cheapest.items()]
    monkeypatch.setattr("roi.cli.batch.batch", lambda files: outcomes)
    (tmp_path / "a.toml").write_text(SHOP)
    assert run_batch(tmp_path, None, None, 1) == 0
    said = [line for line in capsys.readouterr().out.splitlines() if line.startswith("- ")]
    assert said == ["- 1 stay as they are", "- 2 change to direct", "- 1 change to bought_in"]


def test_capital_endings_are_scenarios_and_workbooks_are_counted(tmp_path):
    (tmp_path / "UP.TOML").write_text(SHOP)
    for name in ("log.xlsx", "results.XLSX"):
        (tmp_path / name).write_bytes(b"")
    done = run(tmp_path, "--json", tmp_path / "all.json")
    said = " ".join(done.output.split())
    assert done.exit_code == 0 and "1 scenario, 1 reckoned" in said, said
    assert "2 workbooks left out: roi compare reads one that holds a scenario" in said


@pytest.mark.skipif(sys.platform != "linux", reason="other systems' file names are text")
def test_names_that_are_no_utf_8_are_spelled_out(tmp_path):
    """Byte 0xff begins no letter of UTF-8 (RFC 3629, section 3)."""
    name = os.fsdecode(b"bad\xff.toml")
    (tmp_path / name).write_text(SHOP.replace('name = "Invented shop"\n', ""))
    done = run(tmp_path, "-o", tmp_path / "all.csv", "--json", tmp_path / "all.json")
    assert done.exit_code == 0, done.output
    assert r"bad\xff.toml" in done.output.replace("\n  ", "")
    [one] = json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))["scenarios"]
    with (tmp_path / "all.csv").open(encoding="utf-8-sig", newline="") as file:
        [row] = csv.DictReader(file)
    told = str(tmp_path / r"bad\xff.toml")
    assert one["file"] == row["file"] == told and one["name"] == row["name"] == r"bad\xff"
    assert put_text(Workbook().active, 1, 1, f"from {name}", "Normal").value == r"from bad\xff.toml"
    words = ["confirm", str(tmp_path / name), "-o", str(tmp_path / "list.toml")]
    assert "give the scenario's file another name" in " ".join(CliRunner().invoke(main, words).output.split())
    (tmp_path / "shop.toml").write_text(SHOP)
    words = ["diff", str(tmp_path / name), str(tmp_path / "shop.toml"), "--json", str(tmp_path / "d.json")]
    assert CliRunner().invoke(main, words).exit_code == 1
    assert json.loads((tmp_path / "d.json").read_text(encoding="utf-8"))["scenarios"][0]["file"] == told


def test_a_name_that_looks_like_a_formula_is_text_in_the_table(tmp_path):
    (tmp_path / "shop.toml").write_text(SHOP.replace("Invented shop", "=1+1"))
    assert run(tmp_path, "-o", tmp_path / "all.csv").exit_code == 0
    with (tmp_path / "all.csv").open(encoding="utf-8-sig", newline="") as file:
        (row,) = csv.DictReader(file)
    assert row["name"] == "'=1+1"


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda folder: None, "holds no scenario"),
        (lambda folder: folder.rmdir(), "is no folder"),
        (lambda folder: (folder / "a.toml").write_text("schema ="), "is not TOML"),
    ],
)
def test_a_folder_without_a_good_scenario_exits_2(tmp_path, make, says):
    folder = tmp_path / "clients"
    folder.mkdir()
    make(folder)
    done = run(folder)
    assert done.exit_code == 2 and says in " ".join(done.output.split())


def test_a_result_never_replaces_what_a_scenario_is_read_from(tmp_path):
    (tmp_path / "shop.toml").write_text(SHOP.partition("[summary]")[0] + '[log]\nfile = "jobs.csv"\n')
    (tmp_path / "jobs.csv").write_text("Job\n1\n")
    done = run(tmp_path, "-o", tmp_path / "jobs.csv")
    assert done.exit_code == 2 and "is a file the scenario is read from" in " ".join(done.output.split())
    assert (tmp_path / "jobs.csv").read_text() == "Job\n1\n"


def children(process):
    return Path(f"/proc/{process}/task/{process}/children").read_text().split()


def runs(process):
    """Whether a process is there and not only waiting to be buried."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except (FileNotFoundError, ProcessLookupError):
        return False


@pytest.mark.skipif(
    not Path("/proc/self/task").is_dir(), reason="this system doesn't list a process's children in /proc"
)
@pytest.mark.parametrize("later", [0.0, 2.0])
def test_ctrl_c_ends_a_batch_and_its_processes_without_a_traceback(tmp_path, later):
    """While the processes load, and when they work."""
    write_shops(tmp_path, 200)
    words = ["batch", str(tmp_path), "--workers", "2", "-o", str(tmp_path / "all.csv")]
    command = [sys.executable, "-c", "from roi.cli import main; main()", *words]
    run = subprocess.Popen(command, start_new_session=True, stdout=PIPE, stderr=PIPE, text=True)
    deadline = time.monotonic() + 60
    while len(begun := children(run.pid)) < 3 and time.monotonic() < deadline:  # two, and one that tidies up
        time.sleep(0.05)
    time.sleep(later)
    os.killpg(run.pid, signal.SIGINT)
    _, said = run.communicate(timeout=60)
    assert len(begun) == 3
    assert run.returncode == 130, said
    assert said.split() and "Traceback" not in said and "Error" not in said
    assert not (tmp_path / "all.csv").exists()
    while still := [child for child in begun if runs(child)]:
        assert time.monotonic() < deadline + 30, still
        time.sleep(0.05)
