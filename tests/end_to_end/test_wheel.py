"""The built wheel holds all that a plan needs, without the source tree."""

import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPTS = "Scripts" if os.name == "nt" else "bin"
OFFLINE = ["--no-deps", "--no-index", "--disable-pip-version-check", "--quiet"]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new environment's folder of programs, with the wheel in it; what that depends on comes from here."""
    folder = tmp_path_factory.mktemp("wheel")
    wheel = build_wheel(folder / "dist")
    run([sys.executable, "-m", "venv", "--without-pip", "env"], folder)
    programs = folder / "env" / SCRIPTS
    borrow_dependencies(programs / "python")
    run([sys.executable, "-m", "pip", "--python", programs / "python", "install", *OFFLINE, wheel], folder)
    return programs


def build_wheel(folder: Path) -> Path:
    run(
        [sys.executable, "-m", "pip", "wheel", *OFFLINE, "--no-build-isolation", "--wheel-dir", folder, ROOT],
        ROOT,
    )
    (wheel,) = folder.glob("lastcut-*.whl")
    return wheel


def borrow_dependencies(python: Path) -> None:
    """Let the new environment see our packages; our editable install, a .pth file, is not read there."""
    own = run([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], python.parent).strip()
    borrowed = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    Path(own, "borrowed.pth").write_text("\n".join(sorted(borrowed)), encoding="utf-8")


def run(command: list[str | Path], folder: Path) -> str:
    """Return what a command says that runs in a folder, with no PYTHONPATH to the source tree."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def copy_sample_region(folder: Path) -> Path:
    return shutil.copytree(ROOT / "sample_region", folder / "region", ignore=shutil.ignore_patterns("out"))


def test_the_packages_come_from_the_wheel_alone(installed: Path, tmp_path: Path) -> None:
    show = "import maps, spatial, sys; print(maps.__file__, spatial.__file__, *sys.path, sep='\\n')"
    maps_file, spatial_file, *search_path = run([installed / "python", "-c", show], tmp_path).splitlines()
    assert Path(maps_file).is_relative_to(installed.parent)
    assert Path(spatial_file).is_relative_to(installed.parent)
    assert ROOT not in [Path(entry) for entry in search_path]


def test_the_wheel_has_every_file_of_the_packages(installed: Path, tmp_path: Path) -> None:
    where = "import spatial, pathlib; print(pathlib.Path(spatial.__file__).parents[1])"
    target = Path(run([installed / "python", "-c", where], tmp_path).strip())
    assert package_files(target) == package_files(ROOT)


def package_files(folder: Path) -> set[str]:
    found = {path for name in ("spatial", "maps") for path in (folder / name).rglob("*") if path.is_file()}
    return {path.relative_to(folder).as_posix() for path in found if "__pycache__" not in path.parts}


def test_the_installed_module_plans_a_region(installed: Path, tmp_path: Path) -> None:
    region = copy_sample_region(tmp_path)
    run([installed / "python", "-m", "maps", "plan", region], tmp_path)
    assert (region / "out" / "map.html").is_file()
    assert (region / "out" / "plan.json").is_file()


def test_the_installed_command_answers(installed: Path, tmp_path: Path) -> None:
    assert "plan" in run([installed / "lastcut", "--help"], tmp_path)
