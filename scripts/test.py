"""Installs lastcut and its test packages into `.venv` here and runs the tests.

Run `python3 scripts/test.py`; what follows goes to pytest: `python3 scripts/test.py tests/unit -k freeze`.
"""

import os
import subprocess
import sys

import _environment


def main():
    """Install what is missing, run pytest with the arguments given, and return its exit code."""
    python = _environment.ready_python("test")
    return subprocess.call(
        [python, "-m", "pytest"] + sys.argv[1:],
        cwd=_environment.PROJECT,
        env=_environment.clean_environment(os.environ),
    )


if __name__ == "__main__":
    _environment.run_script(main)
