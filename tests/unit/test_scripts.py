"""The start scripts tell an unfit Python or system what it lacks, and keep other settings out of `.venv`."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
SCRIPTS = ROOT / "scripts"
NAMES = ("_environment", "_fit", "start", "test")

# What Python 2.7 to 3.5 cannot read.
NEW_NODES = (
    ast.JoinedStr,
    ast.NamedExpr,
    ast.AnnAssign,
    ast.AsyncFunctionDef,
    ast.Await,
    ast.YieldFrom,
    ast.Nonlocal,
    ast.Starred,
    ast.Match,
    ast.MatMult,
)
NUMBER_WITH_UNDERSCORE = re.compile(r"\b\d+_\d")


def new_syntax(source: str) -> set[str]:
    """Return the names of the kinds of syntax in a source that an old Python cannot read."""
    nodes = list(ast.walk(ast.parse(source)))
    found = {type(node).__name__ for node in nodes if isinstance(node, NEW_NODES)}
    for node in nodes:
        found |= (
            {"annotation"} if getattr(node, "annotation", None) or getattr(node, "returns", None) else set()
        )
        found |= {"raise from"} if isinstance(node, ast.Raise) and node.cause else set()
        found |= {"dict unpacking"} if isinstance(node, ast.Dict) and None in node.keys else set()
        found |= (
            {"arguments"}
            if isinstance(node, ast.arguments) and (node.kwonlyargs or node.posonlyargs)
            else set()
        )
    found |= {"number with underscore"} if NUMBER_WITH_UNDERSCORE.search(source) else set()
    return found | ({"letter beyond ASCII"} if not source.isascii() else set())


@pytest.fixture
def scripts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The folder of scripts on the search path, as when one of them runs, until the test ends."""
    monkeypatch.syspath_prepend(SCRIPTS)
    yield
    for name in NAMES:
        sys.modules.pop(name, None)


@pytest.fixture
def environment(scripts: None) -> ModuleType:
    return __import__("_environment")


@pytest.fixture
def fit(scripts: None) -> ModuleType:
    return __import__("_fit")


@pytest.mark.parametrize("name", NAMES)
def test_an_old_python_can_read_the_script(name: str) -> None:
    assert new_syntax((SCRIPTS / f"{name}.py").read_text("utf-8")) == set()


@pytest.mark.parametrize(
    ("source", "kind"),
    [
        ("f'{a}'", "JoinedStr"),
        ("(a := 1)", "NamedExpr"),
        ("a: int = 1", "AnnAssign"),
        ("def f(a: int): pass", "annotation"),
        ("def f() -> int: pass", "annotation"),
        ("def f(*, a): pass", "arguments"),
        ("def f(a, /): pass", "arguments"),
        ("[*a, *b]", "Starred"),
        ("{**a}", "dict unpacking"),
        ("try:\n    f()\nexcept E as e:\n    raise F from e", "raise from"),
        ("a = 1_000", "number with underscore"),
        ("a = '\u00e9'", "letter beyond ASCII"),
    ],
)
def test_new_syntax_is_told(source: str, kind: str) -> None:
    assert kind in new_syntax(source)


def test_only_modules_that_every_python_has_are_imported() -> None:
    tree = [
        node for name in NAMES for node in ast.walk(ast.parse((SCRIPTS / f"{name}.py").read_text("utf-8")))
    ]
    plain = {alias.name for node in tree if isinstance(node, ast.Import) for alias in node.names}
    from_others = {node.module for node in tree if isinstance(node, ast.ImportFrom)}
    assert plain <= {
        "hashlib",
        "io",
        "os",
        "platform",
        "subprocess",
        "sys",
        "sysconfig",
        "_environment",
        "_fit",
    }
    assert from_others == {"__future__"}


@pytest.mark.parametrize("version", [(2, 7), (3, 6), (3, 10)])
def test_a_python_too_old_is_told_what_is_needed(fit: ModuleType, version: tuple[int, int]) -> None:
    said = fit.version_problem(version, "posix")
    assert "3.11 or newer" in said
    assert "this is Python {}.{}".format(*version) in said
    assert "python3.13 scripts/start.py" in said


def test_a_python_too_new_is_told_which_ones_serve(fit: ModuleType) -> None:
    assert "3.11 to 3.14 only; this is Python 3.15" in fit.version_problem((3, 15), "posix")


@pytest.mark.parametrize("version", [(3, 11), (3, 12), (3, 13), (3, 14)])
def test_a_python_that_serves_is_not_turned_away(fit: ModuleType, version: tuple[int, int]) -> None:
    assert fit.version_problem(version, "posix") == ""


def test_on_windows_the_command_is_py(fit: ModuleType) -> None:
    assert "py -3.13 scripts\\start.py" in fit.version_problem((3, 9), "nt")


@pytest.mark.parametrize(
    ("tag", "machine", "libc", "words"),
    [
        ("win-arm64", "ARM64", "", "Windows on ARM"),
        ("win32", "x86", "", "32-bit"),
        ("linux-armv7l", "armv7l", "glibc", "32-bit"),
        ("linux-aarch64", "aarch64", "glibc", "exactextract has no ready-made package"),
        ("macosx-10.13-universal2", "x86_64", "", "Intel processor"),
        ("linux-x86_64", "x86_64", "", "Alpine"),
    ],
)
def test_a_system_without_wheels_is_told(
    fit: ModuleType, tag: str, machine: str, libc: str, words: str
) -> None:
    assert words in fit.platform_problem(tag, machine, "CPython", libc)


def test_another_python_than_cpython_is_told(fit: ModuleType) -> None:
    assert "CPython" in fit.platform_problem("linux-x86_64", "x86_64", "PyPy", "glibc")


@pytest.mark.parametrize(
    ("tag", "machine", "libc"),
    [
        ("win-amd64", "AMD64", ""),
        ("linux-x86_64", "x86_64", "glibc"),
        ("macosx-11.0-arm64", "arm64", ""),
        ("macosx-10.13-universal2", "arm64", ""),
    ],
)
def test_a_system_with_wheels_is_not_turned_away(fit: ModuleType, tag: str, machine: str, libc: str) -> None:
    assert fit.platform_problem(tag, machine, "CPython", libc) == ""


@pytest.mark.parametrize(
    "name",
    [
        "PIP_TARGET",
        "PIP_PREFIX",
        "PYTHONHOME",
        "PYTHONPATH",
        "PROJ_LIB",
        "PROJ_DATA",
        "GDAL_DATA",
        "Proj_Lib",
    ],
)
def test_a_setting_that_leads_astray_is_dropped(environment: ModuleType, name: str) -> None:
    assert name not in environment.clean_environment({name: "elsewhere"})


@pytest.mark.parametrize(
    "name", ["PIP_INDEX_URL", "PIP_CERT", "PIP_PROXY", "HTTPS_PROXY", "https_proxy", "SSL_CERT_FILE", "PATH"]
)
def test_a_setting_for_index_proxy_or_certificates_stays(environment: ModuleType, name: str) -> None:
    assert environment.clean_environment({name: "value"})[name] == "value"


def test_an_install_for_the_user_is_switched_off(environment: ModuleType) -> None:
    assert environment.clean_environment({"PIP_USER": "1"})["PIP_USER"] == "0"


def test_the_done_mark_holds_until_the_files_or_the_place_change(
    environment: ModuleType, tmp_path: Path
) -> None:
    first, second = (written_project(tmp_path / name) for name in ("first", "second"))
    keys = [
        environment.done_key(str(first)),
        environment.done_key(str(first)),
        environment.done_key(str(second)),
    ]
    (first / "scripts" / "constraints.txt").write_text("numpy==2.4.5\n", encoding="utf-8")
    keys.append(environment.done_key(str(first)))
    (first / "pyproject.toml").write_text("[project]\nname = 'other'\n", encoding="utf-8")
    keys.append(environment.done_key(str(first)))
    assert keys[0] == keys[1]
    assert len(set(keys)) == 4


def written_project(folder: Path) -> Path:
    (folder / "scripts").mkdir(parents=True)
    (folder / "pyproject.toml").write_text("[project]\n", encoding="utf-8")
    (folder / "scripts" / "constraints.txt").write_text("numpy==2.4.6\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("had", "asked", "done"),
    [("", "", True), ("test", "test", True), ("test", "", True), ("", "test", False)],
)
def test_the_test_installation_serves_a_plan_but_not_the_other_way(
    environment: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, had: str, asked: str, done: bool
) -> None:
    monkeypatch.setattr(environment, "VENV", str(tmp_path))
    environment.write_text(environment.done_mark(had), environment.done_key(environment.PROJECT))
    assert environment.is_done(asked) is done


@pytest.mark.parametrize(
    ("said", "mend"),
    [
        (
            "WARNING: Retrying after NewConnectionError\nERROR: No matching distribution found for numpy",
            "network",
        ),
        ("ERROR: No matching distribution found for exactextract==0.3.0", "Python 3.13"),
        ("ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device", "2 GB"),
        ("The virtual environment was not created because ensurepip is not available.", "python3-venv"),
        ("SSLError(SSLCertVerificationError(1, 'certificate verify failed'))", "PIP_CERT"),
        ("something new", "folder .venv"),
    ],
)
def test_a_failed_installation_names_its_mend(environment: ModuleType, said: str, mend: str) -> None:
    assert mend in environment.mend_for(said)


def test_what_failed_is_the_first_line_marked_as_an_error(environment: ModuleType) -> None:
    said = "Collecting numpy\nERROR: No numpy here.\nERROR: See above\nhint: read on\n"
    assert environment.main_line(said) == "No numpy here"


def test_a_failure_is_one_paragraph_and_an_exit_code(tmp_path: Path) -> None:
    program = (
        "import _environment\n"
        "def main():\n"
        "    raise _environment.SetupError('It failed. Mend it so.', 5)\n"
        "_environment.run_script(main)\n"
    )
    (tmp_path / "program.py").write_text(
        f"import sys\nsys.path.insert(0, {str(SCRIPTS)!r})\n{program}", encoding="utf-8"
    )
    ended = subprocess.run(
        [sys.executable, tmp_path / "program.py"], capture_output=True, text=True, check=False
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (5, "", "\nIt failed. Mend it so.\n")


def test_every_requirement_has_its_exact_version() -> None:
    lines = (SCRIPTS / "constraints.txt").read_text("utf-8").splitlines()
    pinned = {line.split("==")[0] for line in lines if not line.startswith("#")}
    project = (ROOT / "pyproject.toml").read_text("utf-8")
    asked = set(re.findall(r'^    "([a-z0-9-]+)[<>=]+[0-9]', project, re.MULTILINE))
    assert {"geopandas", "pytest", "tzdata", "ruff"} <= asked
    assert asked <= pinned
