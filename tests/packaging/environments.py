"""Archives of the project, and empty environments into which they are installed.

Outside reference: pip and the build tool named in pyproject.toml. Dependencies are fetched anew, so a network is needed.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SECONDS = 600
UNREACHABLE = re.compile(
    r"NewConnectionError|NameResolutionError|ConnectTimeout|ReadTimeout|ProxyError|MaxRetryError"
    r"|Connection (?:refused|reset|aborted|timed out)|Network is unreachable|Temporary failure in name resolution"
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

    def run(
        self, program: str, *words: object, cwd: Path | None = None, **env: str
    ) -> subprocess.CompletedProcess[str]:
        """Run an installed program without anything of this process's Python settings."""
        clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
        return subprocess.run(
            [str(self.folder / "bin" / program), *map(str, words)],
            cwd=cwd or self.elsewhere,
            env={**clean, "PYTHONUTF8": "1", **env},
            capture_output=True,
            text=True,
            timeout=SECONDS,
        )

    def install(self, *wanted: object) -> None:
        """Install what is wanted. Raises NoNetwork, or RuntimeError with pip's words."""
        python = self.folder / "bin" / "python"
        command = [
            sys.executable,
            "-m",
            "pip",
            "--python",
            python,
            "install",
            "-q",
            "--retries",
            "1",
            *wanted,
        ]
        done = subprocess.run(
            [str(word) for word in command], capture_output=True, text=True, timeout=SECONDS
        )
        if done.returncode:
            last = (done.stderr.strip().splitlines() or ["no word from pip"])[-1]
            raise (
                NoNetwork(last)
                if UNREACHABLE.search(done.stderr)
                else RuntimeError(done.stdout + done.stderr)
            )


def environment(folder: Path, *wanted: object, python: str = sys.executable) -> Environment:
    """An empty environment of a Python with what is wanted installed. Raises NoNetwork, or RuntimeError with pip's words."""
    made = Environment(folder / "venv", folder / "elsewhere")
    made.elsewhere.mkdir(parents=True)
    subprocess.run([python, "-m", "venv", "--without-pip", str(made.folder)], check=True, timeout=SECONDS)
    made.install(*wanted)
    return made


def built(out: Path, work: Path) -> dict[str, Path]:
    """Wheel and sdist, built from the tree by the build tool in an environment of its own. Raises as `environment`."""
    builder = environment(work, *PROJECT["build-system"]["requires"])
    done = builder.run("python", "-m", "hatchling", "build", "-d", out, cwd=ROOT)
    if done.returncode:
        raise RuntimeError(done.stdout + done.stderr)
    (wheel,), (sdist,) = out.glob("*.whl"), out.glob("*.tar.gz")
    return {"wheel": wheel, "sdist": sdist}


def lower_bounds() -> list[str]:
    """Every requirement of pyproject.toml at exactly its lower bound, as pip's constraints."""
    project = PROJECT["project"]
    every = [
        *project["dependencies"],
        *(one for extra in project["optional-dependencies"].values() for one in extra),
    ]
    return [one.replace(">=", "==") for one in every if ">=" in one]
