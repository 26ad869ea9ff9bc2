"""The papers say what the program does: commands, files, keys, columns, pictures."""

import re
import shlex
import shutil
import sys
from pathlib import Path

import pytest

from maps.__main__ import main
from maps.exporters import BUILT_IN
from scripts.write_reference import BEGIN, END, reference

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
MOST_PICTURE_BYTES = 600_000


def test_the_reference_is_the_codes_own():
    written = DEVELOPERS.partition(BEGIN)[2].partition(END)[0].strip()
    assert written == reference().strip()


def test_every_column_of_a_plan_is_described(plan):
    for name in [*plan.fields.columns.drop("geometry"), *plan.route.columns]:
        assert f"`{name}`" in DEVELOPERS, name


def test_every_file_of_a_plan_is_in_the_readme():
    for name in BUILT_IN:
        assert f"`{name}`" in README


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_link_and_picture_is_there(page):
    for target in re.findall(r"\]\(([^)#]+)\)", page):
        assert (ROOT / target).is_file(), target


def test_pictures_are_light():
    for picture in (ROOT / "scripts" / "pictures").glob("*.png"):
        assert picture.stat().st_size < MOST_PICTURE_BYTES, picture.name


def commands() -> list[list[str]]:
    blocks = re.findall(r"```\w*\n(.*?)```", README, flags=re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("lastcut ")]
    return [shlex.split(line)[1:] for line in lines]


def test_the_tour_runs_as_written(tmp_path, monkeypatch, sample_folder):
    for name in ("sample_region", "mine"):
        shutil.copytree(sample_folder, tmp_path / name, ignore=shutil.ignore_patterns("out"))
    (tmp_path / "fields.gpkg").write_bytes((sample_folder / "fields.gpkg").read_bytes())
    (tmp_path / "freeze.tif").write_bytes((sample_folder / "freeze_seasons.tif").read_bytes())
    monkeypatch.chdir(tmp_path)
    assert len(commands()) == 12
    for words in commands():
        monkeypatch.setattr(sys, "argv", ["lastcut", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        assert not ended.value.code, words
