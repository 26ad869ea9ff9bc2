"""Makes `.venv` with the versions of constraints.txt in it, for start.py and test.py.

Written so that a Python too old for lastcut can still read it and say so: no f-strings, no annotations.
"""

from __future__ import print_function

import hashlib
import io
import os
import subprocess
import sys

import _fit

PROJECT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
VENV = os.path.join(PROJECT, ".venv")
PYTHON = (
    os.path.join(VENV, "Scripts", "python.exe") if os.name == "nt" else os.path.join(VENV, "bin", "python")
)
CONSTRAINTS = os.path.join("scripts", "constraints.txt")

# Set for another Python, another pip or other map libraries, each of these would lead ours astray. Settings
# for a proxy, an index or certificates are not among them, so they stay.
DROPPED = (
    "GDAL_DATA",
    "GDAL_DRIVER_PATH",
    "PIP_CONSTRAINT",
    "PIP_DRY_RUN",
    "PIP_NO_BINARY",
    "PIP_NO_DEPS",
    "PIP_PLATFORM",
    "PIP_PREFIX",
    "PIP_PYTHON",
    "PIP_PYTHON_VERSION",
    "PIP_REQUIREMENT",
    "PIP_REQUIRE_HASHES",
    "PIP_ROOT",
    "PIP_TARGET",
    "PIP_USER",
    "PROJ_DATA",
    "PROJ_LIB",
    "PYTHONHOME",
    "PYTHONIOENCODING",
    "PYTHONPATH",
    "PYTHONSAFEPATH",
    "__PYVENV_LAUNCHER__",
)

# Words of a failed command and the mend that fits them; the first that fits is told. Without a network pip
# also ends in "No matching distribution", so the network comes first.
MENDS = (
    (
        ("certificate verify failed", "SSLError"),
        "The secure connection was refused. If your network has its own certificates, set PIP_CERT to them.",
    ),
    (
        ("Failed to establish", "NewConnectionError", "name resolution", "getaddrinfo failed"),
        "The package index was not found. Check the network, then run the same command again.",
    ),
    (
        ("ProxyError", "timed out", "Connection refused", "ConnectionReset"),
        "The package index did not answer. Check HTTPS_PROXY and PIP_INDEX_URL, then try again.",
    ),
    (
        ("No space left", "not enough space"),
        "The disk is full. Free 2 GB, then run the same command again.",
    ),
    (
        ("Permission denied", "Access is denied", "Read-only file system"),
        "Close what uses the project's folder, or move the project to a folder of your own.",
    ),
    (
        ("ensurepip",),
        "Python lacks its venv part. On Debian or Ubuntu: `sudo apt install python3-venv`, then try again.",
    ),
    (
        ("No matching distribution", "ResolutionImpossible"),
        "Check that the network works; if it does, update this system or start with Python 3.13.",
    ),
)
OTHER_MEND = "Run the same command again; if it fails again, delete the folder .venv first."


class SetupError(Exception):
    """What failed and how to mend it, in one paragraph, with the exit code to leave with."""

    def __init__(self, paragraph, exit_code=1):
        super(SetupError, self).__init__(paragraph)
        self.exit_code = exit_code


def run_script(main):
    """Leave with the exit code of `main()`; what failed becomes one paragraph, without a traceback."""
    try:
        sys.exit(main())
    except SetupError as error:
        sys.stdout.flush()
        sys.stderr.write("\n{0}\n".format(error))
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. Run the same command to go on.\n")
        sys.exit(130)


def ready_python(extra=""):
    """Return the path of the Python of `.venv`, once lastcut and its `extra` are installed there.

    Raises SetupError where this Python or system cannot run lastcut, or where the installation fails.
    """
    unfit = _fit.unfit_reason(os.name)
    if unfit:
        raise SetupError(unfit, 2)
    survive_any_terminal()
    try:
        if not (is_done(extra) and answers([PYTHON, "-c", "import pip"])):
            make_venv()
            install(extra)
    except OSError as error:
        raise SetupError("The folder .venv could not be made: {0}. {1}".format(error, mend_for(str(error))))
    return PYTHON


def survive_any_terminal():
    """Let a terminal that lacks a letter of the project's path show an escape for it, not stop the script."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="backslashreplace")


def is_done(extra):
    """Return whether the last installation still holds and had this `extra`; the test extra has all."""
    key = done_key(PROJECT)
    return any(read_text(done_mark(had)) == key for had in {"test", extra})


def done_key(project):
    """Return a hash that changes with what is to be installed and with where the project lies."""
    digest = hashlib.sha256(project.encode("utf-8", "surrogateescape"))
    for name in ("pyproject.toml", CONSTRAINTS):
        digest.update(read_text(os.path.join(project, name)).encode("utf-8"))
    return digest.hexdigest()


def done_mark(extra):
    """Return the path of the file that says an installation was finished."""
    return os.path.join(VENV, "done-{0}.txt".format(extra or "run"))


def read_text(path):
    """Return a file's text, or an empty text where there is none."""
    try:
        with io.open(path, encoding="utf-8") as stream:
            return stream.read()
    except (OSError, ValueError):
        return ""


def write_text(path, text):
    """Write a file anew."""
    with io.open(path, "w", encoding="utf-8") as stream:
        stream.write(text)


def make_venv():
    """Make `.venv`, anew where one is there but half made: such a one has no working pip."""
    has_pip = [PYTHON, "-m", "pip", "--version"]
    if answers(has_pip):
        return
    say("Making the folder .venv for lastcut's packages ...")
    code, text = run_told([sys.executable, "-m", "venv", "--clear", VENV])
    if code != 0 or not answers(has_pip):
        raise SetupError(
            "The folder .venv could not be made: {0}. {1}".format(main_line(text), mend_for(text))
        )


def install(extra):
    """Install what builds lastcut, then lastcut itself with its `extra`, and leave the done-mark."""
    for had in ("", "test"):
        if os.path.exists(done_mark(had)):
            os.remove(done_mark(had))
    say("Installing lastcut's packages, about 1 GB; this takes a minute or several ...")
    # The builder goes in first: else pip would fetch one for the occasion, in whatever version is newest.
    pip_install(["hatchling"])
    pip_install(["--no-build-isolation", "--editable", ".[{0}]".format(extra) if extra else "."])
    write_text(done_mark(extra), done_key(PROJECT))


def pip_install(what):
    """Install with pip, wheels only, in the constraints' versions; raise SetupError with pip's reason."""
    options = ["--no-input", "--progress-bar", "off", "--only-binary=:all:", "--constraint", CONSTRAINTS]
    code, text = run_told([PYTHON, "-m", "pip", "install"] + options + what)
    log = os.path.join(VENV, "install.log")
    write_text(log, text)
    if code != 0:
        said = "Installing lastcut's packages failed: {0}. {1}".format(main_line(text), mend_for(text))
        raise SetupError("{0} All that pip said is in {1}".format(said, log))


def answers(command):
    """Return whether a command can be started and succeeds; what it says is dropped."""
    try:
        return run(command, subprocess.DEVNULL).wait() == 0
    except OSError:
        return False


def run_told(command):
    """Run a command, telling each download, and return its exit code and all that it said."""
    process = run(command, subprocess.PIPE)
    lines = []
    for raw in process.stdout:
        lines.append(raw.decode("utf-8", "replace"))
        if lines[-1].lstrip().startswith(("Downloading ", "Using cached ", "Installing ")):
            say("  {0:.100}".format(lines[-1].strip()))
    return process.wait(), "".join(lines)


def run(command, output):
    """Start a command in the project with a clean environment and nothing to read."""
    return subprocess.Popen(
        command,
        cwd=PROJECT,
        env=clean_environment(os.environ),
        stdin=subprocess.DEVNULL,
        stdout=output,
        stderr=subprocess.STDOUT,
    )


def clean_environment(environ):
    """Return a copy of the environment without what would lead pip, Python or the map libraries astray."""
    kept = {name: value for name, value in environ.items() if name.upper() not in DROPPED}
    kept["PIP_USER"] = "0"  # outdoes a `user = true` in a pip settings file
    kept["PIP_DISABLE_PIP_VERSION_CHECK"] = "1"
    kept["PYTHONUTF8"] = (
        "1"  # Windows would else read the installed path of the project in letters of its own
    )
    return kept


def main_line(text):
    """Return the first line that is marked as an error, else the last line said, without its full stop."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    errors = [line[len("ERROR:") :].strip() for line in lines if line.upper().startswith("ERROR:")]
    return (errors[:1] or lines or ["it stopped without a word"])[-1].rstrip(".")


def mend_for(text):
    """Return the mend that fits what a failed command said."""
    for words, mend in MENDS:
        if any(word in text for word in words):
            return mend
    return OTHER_MEND


def say(text):
    """Print one line at once, also where the output is a file."""
    print(text)
    sys.stdout.flush()
