"""The wheel and the sdist as a stranger gets them: installed from the file into an empty environment, used elsewhere.

Outside reference: pip and the build tool named in pyproject.toml. Both environments get their dependencies anew;
without a network all of this is skipped, and pytest prints why.
"""

from __future__ import annotations

import importlib.util
import json
import os
import re
import subprocess
import sys
import tarfile
import tomllib
import venv
import zipfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest
from openpyxl import load_workbook

import roi

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
TEMPLATES = sorted((ROOT / "workbook_templates").glob("*.toml"))
KINDS = ["wheel", "sdist"]
SECONDS = 300
UNREACHABLE = re.compile(
    r"NewConnectionError|NameResolutionError|ConnectTimeout|ReadTimeout|ProxyError|MaxRetryError"
    r"|Connection (?:refused|reset|aborted|timed out)|Network is unreachable|Temporary failure in name resolution"
)
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


class NoNetwork(Exception):
    """Packages can't be fetched here; its text is pip's own last word."""


@dataclass(frozen=True)
class Environment:
    """An environment of its own under `folder`, and an empty folder to work in that knows nothing of the source."""

    folder: Path
    elsewhere: Path

    @property
    def package(self) -> Path:
        """Where the installed package lies."""
        (found,) = self.folder.glob("lib/python*/site-packages/roi")
        return found

    def run(self, program: str, *words: object) -> subprocess.CompletedProcess[str]:
        """Run an installed program without anything of this process's Python settings."""
        clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
        return subprocess.run(
            [str(self.folder / "bin" / program), *map(str, words)],
            cwd=self.elsewhere,
            env={**clean, "PYTHONUTF8": "1"},
            capture_output=True,
            text=True,
            timeout=SECONDS,
        )


def environment(folder: Path, *wanted: object) -> Environment:
    """An empty environment with what is wanted installed. Raises NoNetwork, or RuntimeError with pip's words."""
    venv.create(folder / "venv", with_pip=False)
    (folder / "elsewhere").mkdir()
    python = folder / "venv" / "bin" / "python"
    install = [sys.executable, "-m", "pip", "--python", python, "install", "-q", "--retries", "1", *wanted]
    done = subprocess.run([str(word) for word in install], capture_output=True, text=True, timeout=SECONDS)
    if done.returncode:
        last = (done.stderr.strip().splitlines() or ["no word from pip"])[-1]
        raise NoNetwork(last) if UNREACHABLE.search(done.stderr) else RuntimeError(done.stdout + done.stderr)
    return Environment(folder / "venv", folder / "elsewhere")


@pytest.fixture(scope="module")
def archives(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Both archives, built from the tree by the build tool in an environment of its own."""
    out = tmp_path_factory.mktemp("archives")
    try:
        builder = environment(tmp_path_factory.mktemp("builder"), *PROJECT["build-system"]["requires"])
    except NoNetwork as why:
        pytest.skip(f"no network, so nothing was built or installed: {why}")
    build = [builder.folder / "bin" / "python", "-m", "hatchling", "build", "-d", out]
    done = subprocess.run(
        [str(word) for word in build], cwd=ROOT, capture_output=True, text=True, timeout=SECONDS
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,), (sdist,) = out.glob("*.whl"), out.glob("*.tar.gz")
    return {"wheel": wheel, "sdist": sdist}


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
