"""Wheel and sdist in clean environments on every supported Python found here: python -m tests.packaging.everywhere [PART ...]

Parts, all when none is named: `install` (the demo from each archive, on each Python, without and with the extra), `lower` (every
requirement at exactly its lower bound, on the oldest Python found: the demo, and quick tests), `readme` (README's two commands on
each Python, the second with a few quick folders of tests for all of them), `typed` (mypy finds the package's types). Prints a
table and exits 1 when anything fails. It takes minutes and a network, so it isn't collected as a test.
"""

from __future__ import annotations

import os
import re
import resource
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

from tests.packaging.environments import PROJECT, ROOT, Environment, built, environment, lower_bounds

QUICK = (
    "tests/engine",
    "tests/cli/test_commands.py",
    "tests/page/test_charts.py",
    "tests/workbook/test_finish.py",
    "tests/published/test_conversions.py",
    "tests/published/test_investment.py",
    "tests/scenario/test_tables.py",
)
USER = """
from pathlib import Path

from roi.model.study import build
from roi.scenario.scenario import read

study = build(read(Path("shop.toml")))
reveal_type(study.scenario.currency)
read(3)
"""


def pythons() -> dict[str, str]:
    """Every supported Python found, "3.12.1" -> its program: on PATH, and where pyenv keeps its versions; one for each 3.x."""
    oldest = int(PROJECT["project"]["requires-python"].removeprefix(">=3."))
    pyenv = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv")) / "versions"
    places = [*pyenv.glob("3.*/bin"), *map(Path, os.environ["PATH"].split(os.pathsep))]
    found: dict[int, tuple[str, str]] = {}
    for place in places:
        for program in sorted(place.glob("python3.*")):
            minor = re.fullmatch(r"python3\.(\d+)", program.name)
            if minor is None or int(minor[1]) < oldest or int(minor[1]) in found:
                continue
            asked = [str(program), "-c", "import platform, venv; print(platform.python_version())"]
            done = subprocess.run(asked, capture_output=True, text=True)
            if done.returncode == 0:
                found[int(minor[1])] = done.stdout.strip(), str(program)
    return dict(found[minor] for minor in sorted(found))


def demo(here: Environment) -> float:
    """Run the packaged demo; seconds of processor time. Raises AssertionError when it doesn't do what it should."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    shop = here.package / "_scenarios" / "us_two_press" / "shop.toml"
    done = here.run("roi", "compare", shop, "-o", "decision.xlsx", OPENBLAS_NUM_THREADS="1")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert (done.returncode, done.stderr) == (0, ""), done.stdout + done.stderr
    assert re.search(r"^(Changing is cheaper|Stay as you are)", done.stdout, re.MULTILINE), done.stdout
    assert (here.elsewhere / "decision.xlsx").stat().st_size > 100_000
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def install(work: Path, archives: dict[str, Path]) -> None:
    """Each archive on each Python: the demo, what a page without its extra says, then the page with it."""
    print("| Python | archive | demo, s of processor | page without the extra | page with it |")
    print("| --- | --- | ---: | --- | --- |")
    for version, program in pythons().items():
        for kind, archive in archives.items():
            here = environment(work / f"{version}-{kind}", archive, python=program)
            seconds = demo(here)
            shop = here.package / "_scenarios" / "ten_answers" / "shop.toml"
            refused = here.run("roi", "brief", shop, "-o", "answer.html")
            assert refused.returncode == 2 and "pip install matplotlib jinja2" in refused.stderr, (
                refused.stderr
            )
            here.install(f"{archive}[page]")
            made = here.run("roi", "brief", shop, "-o", "answer.html")
            assert made.returncode == 0, made.stdout + made.stderr
            print(f"| {version} | {kind} | {seconds:.1f} | says what to install | made |", flush=True)


def lower(work: Path, archives: dict[str, Path]) -> None:
    """All lower bounds at once, extras included; the demo, then quick tests of the sdist's tree against the installed package."""
    version, program = next(iter(pythons().items()))
    bounds = work / "lower.txt"
    bounds.write_text("\n".join(lower_bounds()) + "\n", encoding="utf-8")
    here = environment(work / "lower", "-c", bounds, f"{archives['wheel']}[test]", python=program)
    print(f"Lower bounds on {version}: the demo takes {demo(here):.1f} s of processor")
    # Libraries of then use what those that they load, being of today, call deprecated.
    options = ("-q", "-p", "no:cacheprovider", "-W", "ignore::DeprecationWarning")
    done = here.run("python", "-m", "pytest", *options, *QUICK, cwd=unpacked(work, archives))
    print(f"Lower bounds on {version}: {(done.stdout.strip().splitlines() or ['nothing'])[-1]}", flush=True)
    assert done.returncode == 0, done.stdout + done.stderr


def readme(work: Path, archives: dict[str, Path]) -> None:
    """README's first two commands as they stand, in a folder of its own for each Python, which is what python3 is there."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    first, second = re.findall(r"^python3 -m venv .*$", text, re.MULTILINE)[:2]
    for version, program in pythons().items():
        tree = unpacked(work / f"readme-{version}", archives)
        programs = work / f"readme-{version}" / "bin"
        programs.mkdir()
        (programs / "python3").symlink_to(program)
        env = {**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}"}
        for name in ("PYTHONPATH", "VIRTUAL_ENV"):
            env.pop(name, None)
        for command in (first, f"{second} {' '.join(QUICK)}"):
            done = subprocess.run(command, shell=True, cwd=tree, env=env, capture_output=True, text=True)
            assert done.returncode == 0, done.stdout + done.stderr
            told = done.stdout.strip().splitlines()[-1]
            print(f"README on {version}: {told}", flush=True)
        assert (tree / "decision.xlsx").exists()


def typed(work: Path, archives: dict[str, Path]) -> None:
    """A user's program in which one type is asked for and one is wrong; mypy must know the first and find the second."""
    here = environment(work / "typed", archives["wheel"], "mypy")
    (here.elsewhere / "mine.py").write_text(USER, encoding="utf-8")
    done = here.run("python", "-m", "mypy", "--strict", "--cache-dir", os.devnull, "mine.py")
    assert 'mine.py:8: note: Revealed type is "builtins.str"' in done.stdout.replace(
        '"str"', '"builtins.str"'
    ), done.stdout
    assert re.search(r'mine\.py:9: error: Argument 1 to "read" has incompatible type "int"', done.stdout), (
        done.stdout
    )
    assert "Found 1 error in 1 file" in done.stdout, done.stdout
    print("Types: mypy reads them from the installed wheel, and finds a wrong argument.", flush=True)


def unpacked(work: Path, archives: dict[str, Path]) -> Path:
    """The tree that the sdist holds."""
    with tarfile.open(archives["sdist"]) as sdist:
        sdist.extractall(work / "tree", filter="data")
    (tree,) = (work / "tree").iterdir()
    return tree


PARTS = {"install": install, "lower": lower, "readme": readme, "typed": typed}


def main() -> int:
    """The parts wanted, one after another; the exit code."""
    wanted = sys.argv[1:] or list(PARTS)
    if unknown := set(wanted) - set(PARTS):
        print(f"no such part: {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}", file=sys.stderr)
        return 2
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "archives").mkdir()
        archives = built(Path(folder) / "archives", Path(folder) / "builder")
        for part in wanted:
            try:
                PARTS[part](Path(folder), archives)
            except (AssertionError, RuntimeError, OSError) as wrong:
                print(f"{part} failed: {wrong}", file=sys.stderr, flush=True)
                failed = 1
    return failed


if __name__ == "__main__":
    sys.exit(main())
