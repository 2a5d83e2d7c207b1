"""`roi brief` as a user runs it: what it writes and refuses, and that nobody else waits for its libraries."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

import roi
from roi.cli import main
from roi.page.needs import LIBRARIES
from tests.small_shop import SHOP

PACKAGE = Path(roi.__file__).parent


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return path


def run(*words):
    return CliRunner().invoke(main, [str(w) for w in words])


def test_it_writes_one_page_and_eight_charts(shop, tmp_path):
    done = run(
        "brief",
        shop,
        "-o",
        tmp_path / "brief.html",
        "--charts",
        tmp_path / "charts",
        "--template",
        "consultant",
    )
    assert done.exit_code == 0, done.output
    assert "brief.html, and 8 charts in" in done.output
    assert "Ways of making plates compared" in (tmp_path / "brief.html").read_text(encoding="utf-8")
    assert len(list((tmp_path / "charts").iterdir())) == 8
    assert sorted(p.name for p in tmp_path.iterdir()) == ["brief.html", "charts", "shop.toml"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "out.pdf"], "does not end in .html"),
        (["-o", "none/out.html"], "the folder none does not exist"),
        (["-o", "out.html", "--charts", "shop.toml"], "--charts shop.toml: is a file mend: name a folder"),
        (["-o", "out.html", "--charts", "a/b"], "the folder a does not exist mend: make the folder first"),
        (["-o", "out.html", "--template", "ownr"], 'is no template known here mend: was "owner" meant?'),
    ],
)
def test_what_cant_be_written_is_refused_and_nothing_is(shop, tmp_path, monkeypatch, words, says):
    monkeypatch.chdir(tmp_path)
    done = run("brief", "shop.toml", *words)
    assert done.exit_code == 2
    assert says in " ".join(done.stderr.split())
    assert [p.name for p in tmp_path.iterdir()] == ["shop.toml"]


@pytest.mark.parametrize("library", LIBRARIES)
def test_a_missing_library_is_named_with_how_to_install_it(shop, tmp_path, monkeypatch, library):
    monkeypatch.setitem(sys.modules, library, None)  # importing it now fails as if it were not there
    done = run("brief", shop, "-o", tmp_path / "brief.html")
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert f"needs {library}, which can't be loaded here" in said
    assert f'pip install {library}, or in the project\'s folder pip install ".[page]"' in said
    assert not (tmp_path / "brief.html").exists()


def test_other_commands_load_no_library_of_pages(shop):
    code = (
        "import sys\nfrom roi.cli import main\n"
        f"try: main(['check', {str(shop)!r}])\nexcept SystemExit: pass\n"
        f"print(sorted(set({LIBRARIES!r}) & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=PACKAGE.parent, timeout=60
    )
    assert done.stdout.splitlines()[-1] == "[]", done.stdout + done.stderr


def test_only_pages_ask_for_their_libraries_and_only_when_made():
    asked = []
    for file in PACKAGE.rglob("*.py"):
        for statement in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [a.name for a in statement.names] if isinstance(statement, ast.Import) else []
            names += [statement.module or ""] if isinstance(statement, ast.ImportFrom) else []
            if {name.split(".")[0] for name in names} & {*LIBRARIES, "markupsafe"}:
                asked.append((file.relative_to(PACKAGE).parts[0], statement.col_offset > 0))
    assert set(asked) == {("page", True)}  # inside a function, or for the type checker alone
