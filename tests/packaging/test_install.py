"""The wheel and the sdist as a stranger gets them: installed from the file into an empty environment, used elsewhere.

Outside reference: pip and the build tool named in pyproject.toml. Both environments get their dependencies anew;
without a network all of this is skipped, and pytest prints why.
"""

from __future__ import annotations

import importlib.util
import json
import tarfile
import zipfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from openpyxl import load_workbook

import roi
from tests.packaging.environments import PROJECT, ROOT, Environment, NoNetwork, built, environment

TEMPLATES = sorted((ROOT / "workbook_templates").glob("*.toml"))
KINDS = ["wheel", "sdist"]
# Every module of the package is imported, so that one missing from the archive, or taken from elsewhere, shows.
IMPORT_ALL = """
import importlib, json, pkgutil, sys
import roi
for module in pkgutil.walk_packages(roi.__path__, "roi."):
    importlib.import_module(module.name)
print(json.dumps({name: module.__file__ for name, module in sys.modules.items() if name.split(".")[0] == "roi"}))
"""

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("pip") is None, reason="this Python has no pip: nothing was installed"
)


@pytest.fixture(scope="module")
def archives(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Both archives, built from the tree by the build tool in an environment of its own."""
    try:
        return built(tmp_path_factory.mktemp("archives"), tmp_path_factory.mktemp("builder"))
    except NoNetwork as why:
        pytest.skip(f"no network, so nothing was built or installed: {why}")


@pytest.fixture(scope="module")
def installed(archives: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Environment]:
    """Each archive installed into an environment of its own, both at once."""
    folders = [tmp_path_factory.mktemp(kind) for kind in KINDS]
    try:
        with ThreadPoolExecutor() as pool:
            made = pool.map(environment, folders, [archives[kind] for kind in KINDS])
            return dict(zip(KINDS, made, strict=True))
    except NoNetwork as why:
        pytest.skip(f"no network, so nothing was installed: {why}")


def test_the_wheel_holds_the_package_and_nothing_else(archives: dict[str, Path]) -> None:
    with zipfile.ZipFile(archives["wheel"]) as wheel:
        names = wheel.namelist()
    assert {name.split("/")[0] for name in names} == {"roi", f"plate_roi-{roi.__version__}.dist-info"}
    assert not [name for name in names if "__pycache__" in name]
    assert {"roi/py.typed", "roi/page/brief.html", "roi/page/brief.css"} <= set(names)
    assert [name for name in names if name.endswith("/licenses/LICENSE")]


def test_scenarios_and_templates_are_whole_in_both_archives(archives: dict[str, Path]) -> None:
    """Text files beside the package: in the sdist as in the tree, in the wheel where pyproject.toml puts them."""
    moved = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    top = f"plate_roi-{roi.__version__}"
    scenarios = [
        file for file in (ROOT / "scenarios").glob("*/*") if file.suffix in (".toml", ".csv", ".xlsx")
    ]
    assert len(scenarios) > 2 and TEMPLATES
    with zipfile.ZipFile(archives["wheel"]) as wheel, tarfile.open(archives["sdist"]) as sdist:
        for file in (*scenarios, *TEMPLATES):
            folder, *rest = file.relative_to(ROOT).parts
            assert wheel.read("/".join((moved[folder], *rest))) == file.read_bytes()
            packed = sdist.extractfile("/".join((top, folder, *rest)))
            assert packed is not None and packed.read() == file.read_bytes()


@pytest.mark.parametrize("kind", KINDS)
def test_every_module_comes_from_the_installed_package(installed: dict[str, Environment], kind: str) -> None:
    here = installed[kind]
    done = here.run("python", "-I", "-W", "error", "-c", IMPORT_ALL)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert all(Path(file).is_relative_to(here.package) for file in found.values()), found
    source = {file.relative_to(ROOT / "roi") for file in (ROOT / "roi").rglob("*.py")}
    assert {Path(file).relative_to(here.package) for file in found.values()} == source
    assert (here.package / "py.typed").exists()


@pytest.mark.parametrize("kind", KINDS)
def test_the_command_tells_its_version_and_its_help(installed: dict[str, Environment], kind: str) -> None:
    version, told = installed[kind].run("roi", "--version"), installed[kind].run("roi", "--help")
    assert (version.returncode, told.returncode) == (0, 0), version.stderr + told.stderr
    assert roi.__version__ in version.stdout
    assert all(command in told.stdout for command in ("compare", "check", "explain"))


@pytest.mark.parametrize("kind", KINDS)
def test_the_demo_gives_its_verdict_from_another_folder(installed: dict[str, Environment], kind: str) -> None:
    here = installed[kind]
    demo = here.package / "_scenarios" / "us_two_press" / "shop.toml"
    done = here.run("roi", "compare", demo, "-o", "decision.xlsx")
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stderr == ""
    assert verdict_of(here.elsewhere / "decision.xlsx") in " ".join(done.stdout.split())


def test_without_the_extra_a_page_says_what_to_install(installed: dict[str, Environment]) -> None:
    """No plotting library is in an environment without extras; a comparison has run there all the same."""
    here = installed["wheel"]
    demo = here.package / "_scenarios" / "us_two_press" / "shop.toml"
    done = here.run("roi", "brief", demo, "-o", "answer.html")
    said = " ".join(done.stderr.split())
    assert done.returncode == 2, done.stdout + done.stderr
    assert "needs matplotlib and jinja2" in said and "mend: pip install matplotlib jinja2" in said
    assert not (here.elsewhere / "answer.html").exists()


def test_the_command_is_a_module_too(installed: dict[str, Environment]) -> None:
    done = installed["sdist"].run("python", "-W", "error", "-m", "roi", "--version")
    assert (done.returncode, done.stderr) == (0, "") and roi.__version__ in done.stdout


def test_every_template_is_found_by_its_name(installed: dict[str, Environment]) -> None:
    """All by the installed package itself; one of those that aren't the default by its command."""
    here = installed["wheel"]
    names = [file.stem for file in TEMPLATES]
    found = (
        f"from roi.workbook.read_template import load_template as t; print([t(n).reader for n in {names}])"
    )
    done = here.run("python", "-c", found)
    assert done.returncode == 0 and done.stdout.count(",") == len(names) - 1 > 1, done.stdout + done.stderr
    shop = here.package / "_scenarios" / "ten_answers" / "shop.toml"
    done = here.run("roi", "compare", shop, "-o", "other.xlsx", "--template", "consultant")
    assert done.returncode == 0, done.stdout + done.stderr
    assert verdict_of(here.elsewhere / "other.xlsx")


def verdict_of(workbook: Path) -> str:
    """The first sentence of the Summary that says what is cheaper; empty when there is none."""
    summary = load_workbook(workbook, data_only=True)["Summary"]
    texts = [cell.value for row in summary.iter_rows() for cell in row if isinstance(cell.value, str)]
    found = [text for text in texts if text.startswith(("Changing is cheaper", "Stay as you are"))]
    assert found, texts
    return " ".join(found[0].split())
