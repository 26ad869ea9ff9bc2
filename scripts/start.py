"""Installs lastcut into `.venv` here and plans the sample region: the first command on a fresh machine.

Run `python3 scripts/start.py`; on Windows the command is `py` in place of `python3`. The last line it prints
is where the map is.
"""

from __future__ import print_function

import os
import subprocess
import sys

import _environment

MAP_PAGE = os.path.join(_environment.PROJECT, "sample_region", "out", "map.html")


SAMPLE_DAY = "2026-09-08"  # the day that the sample region was made for


def main():
    """Install what is missing, plan the sample region and print where its map is; return the exit code."""
    python = _environment.ready_python()
    _environment.say("Planning the sample region ...")
    plan_sample_region(python)
    if not os.path.exists(MAP_PAGE):
        raise _environment.SetupError(
            "The sample region was planned, but its map is not where it should be: {0}. Get the project's "
            "files anew and run the same command again.".format(MAP_PAGE)
        )
    _environment.say("Done. Open this page in a browser:")
    _environment.say(MAP_PAGE)
    return 0


def plan_sample_region(python):
    """Run the plan in the project's folder; raise SetupError where it does not succeed."""
    code = subprocess.call(
        [python, "-m", "maps", "plan", "sample_region", "--on", SAMPLE_DAY],
        cwd=_environment.PROJECT,
        env=_environment.clean_environment(os.environ),
    )
    if code != 0:
        raise _environment.SetupError(
            "lastcut is installed, but planning the sample region failed with exit code {0}; what it said "
            "stands above. If you changed a file in sample_region, get that file anew; if not, delete the "
            "folder .venv and run the same command again.".format(code),
            max(code, 1),
        )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(__doc__)
        sys.exit(0 if sys.argv[1] in ("-h", "--help") else 2)
    _environment.run_script(main)
