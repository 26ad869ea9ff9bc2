"""What the tests of whole runs share: a command as a person types it."""

import sys

import pytest

from maps.__main__ import main


@pytest.fixture
def lastcut(monkeypatch, capsys):
    """Run one command; return (exit code, what it printed, what it complained)."""

    def run(*words: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["lastcut", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        return int(ended.value.code or 0), said.out, said.err

    return run
