"""What the only writer promises."""

import threading
from pathlib import Path

import pytest

from spatial.store import append_line, swapped_in, write_new
from tests.unit.making import contents, write_text

HEADING = "date,fact"


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def write_half(folder):
    with swapped_in(folder) as beside:
        write_text(beside / "a.txt", "half")
        raise RuntimeError("stopped")


def write_whole(folder):
    with swapped_in(folder) as beside:
        write_text(beside / "a.txt", "new")


def test_files_come_in_when_the_block_ends_well(tmp_path):
    with swapped_in(tmp_path / "deep" / "out") as beside:
        write_text(beside / "a.txt", "new")
        assert not (tmp_path / "deep" / "out").exists()
    assert contents(tmp_path / "deep" / "out") == {Path("a.txt"): b"new"}
    assert names(tmp_path / "deep") == ["out"]


def test_a_block_that_fails_leaves_the_folder_as_it_was(tmp_path):
    write_text(tmp_path / "out" / "a.txt", "old")
    before = contents(tmp_path)
    with pytest.raises(RuntimeError, match="stopped"):
        write_half(tmp_path / "out")
    assert contents(tmp_path) == before
    assert names(tmp_path) == ["out"]


def test_files_of_other_names_stay(tmp_path):
    write_text(tmp_path / "out" / "mine.txt", "mine")
    write_text(tmp_path / "out" / "a.txt", "old")
    write_whole(tmp_path / "out")
    assert names(tmp_path / "out") == ["a.txt", "mine.txt"]
    assert (tmp_path / "out" / "a.txt").read_text(encoding="utf-8") == "new"


def test_a_file_in_the_folders_place_is_an_os_error(tmp_path):
    write_text(tmp_path / "out", "a file")
    with pytest.raises(OSError, match="out"):
        write_whole(tmp_path / "out")
    assert names(tmp_path) == ["out"]


def test_a_new_file_never_takes_the_place_of_another(tmp_path):
    write_new(tmp_path / "new" / "a.txt", "Größe\n")
    with pytest.raises(FileExistsError):
        write_new(tmp_path / "new" / "a.txt", "other")
    assert (tmp_path / "new" / "a.txt").read_bytes() == "Größe\n".encode()


def test_the_first_line_starts_the_file_with_its_heading(tmp_path):
    append_line(tmp_path / "log.csv", "1,cut", HEADING)
    append_line(tmp_path / "log.csv", "2,cut", HEADING)
    assert (tmp_path / "log.csv").read_bytes() == b"date,fact\n1,cut\n2,cut\n"


def test_an_empty_file_gets_its_heading_too(tmp_path):
    append_line(write_text(tmp_path / "log.csv", ""), "1,cut", HEADING)
    assert (tmp_path / "log.csv").read_bytes() == b"date,fact\n1,cut\n"


def test_a_file_without_an_end_to_its_last_line_gets_one_first(tmp_path):
    append_line(write_text(tmp_path / "log.csv", "date,fact\n1,cut"), "2,cut", HEADING)
    assert (tmp_path / "log.csv").read_bytes() == b"date,fact\n1,cut\n2,cut\n"


def test_lines_written_at_the_same_time_are_all_kept_whole(tmp_path):
    def write(writer):
        for number in range(10):
            append_line(tmp_path / "log.csv", f"{writer}-{number},cut", HEADING)

    writers = [threading.Thread(target=write, args=(n,)) for n in range(4)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    lines = (tmp_path / "log.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == HEADING
    assert sorted(lines[1:]) == sorted(f"{w}-{n},cut" for w in range(4) for n in range(10))


def test_where_one_file_cannot_be_swapped_in_all_the_old_ones_stay(tmp_path, monkeypatch):
    folder = tmp_path / "out"
    folder.mkdir()
    for name in ("a.txt", "b.txt"):
        (folder / name).write_text("old")
    real = Path.replace

    def held_open(self: Path, target: Path) -> Path:
        if target == folder / "b.txt" and self.read_text() == "new":
            raise PermissionError(13, "held open elsewhere")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", held_open)
    with pytest.raises(PermissionError), swapped_in(folder) as beside:
        write_all(beside, "new")
    assert {path.name: path.read_text() for path in folder.iterdir()} == {"a.txt": "old", "b.txt": "old"}
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def write_all(folder: Path, text: str) -> None:
    for name in ("a.txt", "b.txt", "c.txt"):
        (folder / name).write_text(text)
