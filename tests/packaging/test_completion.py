"""Shell completion as README says to switch it on: names of commands and options are completed.

Outside reference: bash itself, where there is one; for zsh and fish, perhaps not here, what click documents they ask and get.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from roi.cli import main

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
# Stands for the installed program.
ROI = f"#!{sys.executable}\nimport sys\nsys.path.insert(0, {str(ROOT)!r})\nfrom roi.__main__ import run\nrun()\n"


def answered(env: dict[str, str]) -> str:
    """What the program prints for a shell that asks."""
    done = CliRunner().invoke(main, [], prog_name="roi", env=env)
    assert done.exit_code == 0, done.output
    return done.output


def documented(shell: str) -> str:
    """README's line that switches completion on in a shell."""
    (line,) = re.findall(rf"^.*_ROI_COMPLETE={shell}_source.*$", README, re.MULTILINE)
    return line.strip()


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here: only the answers to it are tested")
def test_bash_completes_a_command_and_an_option(tmp_path: Path) -> None:
    (tmp_path / "roi").write_text(ROI, encoding="utf-8")
    (tmp_path / "roi").chmod(0o755)
    env = {**os.environ, "PATH": f"{tmp_path}:{os.environ['PATH']}"}
    asked = documented("bash") + "\n"
    for number, words in enumerate(("roi comp", "roi budget --swi")):
        asked += f"COMPREPLY=(); COMP_WORDS=({words}); COMP_CWORD={number + 1}; _roi_completion roi; echo ${{COMPREPLY[@]}}\n"
    done = subprocess.run(["bash", "-c", asked], capture_output=True, text=True, env=env)
    assert done.stdout.split("\n")[:2] == ["compare", "--switch-month"], done.stderr


def test_zsh_and_fish_get_their_answers() -> None:
    zsh = answered({"_ROI_COMPLETE": "zsh_complete", "COMP_WORDS": "roi comp", "COMP_CWORD": "1"})
    assert zsh.splitlines()[:2] == ["plain", "compare"] and len(zsh.splitlines()) == 3
    fish = answered({"_ROI_COMPLETE": "fish_complete", "COMP_WORDS": "roi comp", "COMP_CWORD": "comp"})
    assert "compare" in fish and len(re.findall("plain", fish)) == 1
    for shell, sign in (("zsh", "compdef"), ("fish", "complete --no-files --command roi")):
        assert documented(shell)
        assert sign in answered({"_ROI_COMPLETE": f"{shell}_source"})
