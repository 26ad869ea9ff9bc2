"""The only writer: files come in whole or not at all, and lines are kept once they are acknowledged."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock


@contextmanager
def swapped_in(folder: Path) -> Iterator[Path]:
    """Give an empty folder beside `folder`; when the block ends well, its files replace those of the same name.

    Each file is swapped in whole; where the block raises, `folder` stays as it was. Raises OSError where the
    place cannot be written to.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        yield beside
        folder.mkdir(exist_ok=True)
        for file in sorted(beside.iterdir()):
            file.replace(folder / file.name)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def write_new(path: Path, text: str) -> None:
    """Write a file that must not be there yet; raises FileExistsError where it is."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("x", encoding="utf-8", newline="\n") as file:
        file.write(text)


def append_line(path: Path, line: str, heading: str) -> None:
    """Append one line to a text file and see it onto the disk; a new file starts with `heading`.

    One writer at a time: a lock file beside it is held meanwhile. Raises OSError where it cannot be written.
    """
    with FileLock(path.with_name(path.name + ".lock"), timeout=30):
        fresh = not path.exists() or path.stat().st_size == 0
        ragged = not fresh and not path.read_bytes().endswith(b"\n")
        with path.open("a", encoding="utf-8", newline="\n") as file:
            file.write(f"{heading}\n" if fresh else "\n" if ragged else "")
            file.write(f"{line}\n")
            file.flush()
            os.fsync(file.fileno())
