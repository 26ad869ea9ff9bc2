"""The style that tools can hold: ruff's rules and format, and types that mypy finds whole."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy", "--strict", "spatial", "maps"],
    ],
    ids=["ruff rules", "ruff format", "mypy strict"],
)
def test_the_tool_finds_nothing(command: list[str]) -> None:
    found = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert found.returncode == 0, found.stdout + found.stderr
