"""The command line: `lastcut new`, `check`, `plan`, `record`, `freeze`, `zones`."""

import io
import os
import sys

import typer

from maps.commands.chosen import with_settings
from maps.commands.freeze import freeze
from maps.commands.record import record
from maps.commands.region import check, new, plan
from maps.commands.zones import zones
from spatial.errors import InputError, Stopped

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Last-cut dates, soil flags and a cutting route for warm-season hayfields.",
)
for command in (new, check, with_settings(plan), record, with_settings(zones)):
    app.command()(command)
app.add_typer(freeze, name="freeze")


def main() -> None:
    """Run the command line; exits 0 when done, 2 where the user can mend what is wrong."""
    # A PROJ_DATA left by another program breaks both GDALs (they carry their own).
    for poison in ("PROJ_LIB", "PROJ_DATA", "GDAL_DATA"):
        os.environ.pop(poison, None)
    # A name in any script must not stop a run whose output goes to an old code page.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        app()
    except InputError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        sys.exit(2)
    except (Stopped, KeyboardInterrupt):
        print("Stopped; nothing was changed.", file=sys.stderr)
        sys.exit(2)


if __name__ == "__main__":
    main()
