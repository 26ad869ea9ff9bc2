"""The only writer: files come in whole or not at all, and lines are kept once they are acknowledged."""

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock

from spatial.errors import InputError, Problem


@contextmanager
def swapped_in(folder: Path) -> Iterator[Path]:
    """Give an empty folder beside `folder`; when the block ends well, its files replace those of the same name.

    Where the block raises, or a file cannot be swapped in, `folder` is as it was. Raises OSError where the place
    cannot be written to.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        yield beside
        folder.mkdir(exist_ok=True)
        _swap(sorted(beside.iterdir()), folder, folder.parent)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


@contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """Give a path of the same name in an empty hidden folder beside `path`, for it and files to go with it.

    When the block ends well, all files of that folder come in beside one another in the folder of `path`, in
    the place of those of the same name. Where the block raises, or a file cannot be swapped in, that folder is
    as it was. Raises InputError where the place cannot be written to.
    """
    beside = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{path.name}-", dir=path.parent))
        yield beside / path.name
        _swap(sorted(beside.iterdir()), path.parent, path.parent)
    except OSError as error:
        cause = f"cannot be written ({error.strerror or error})"
        raise InputError([Problem(str(path), "", cause, "Check the folder and its free space")]) from error
    finally:
        if beside is not None:
            shutil.rmtree(beside, ignore_errors=True)


def _swap(files: list[Path], folder: Path, place: Path) -> None:
    """Move the files into `folder`, old ones of the same name aside into `place`; put all back where one cannot."""
    taken = next((folder / file.name for file in files if (folder / file.name).is_dir()), None)
    if taken is not None:
        raise IsADirectoryError(errno.EISDIR, "a folder is in its place", str(taken))
    with tempfile.TemporaryDirectory(prefix=f".{folder.name}-old-", dir=place) as aside:
        done: list[tuple[Path, Path]] = []
        try:
            for file in files:
                target, old = folder / file.name, Path(aside) / file.name
                if target.exists():
                    target.replace(old)
                done.append((target, old))
                file.replace(target)
        except BaseException:
            for target, old in done:
                old.replace(target) if old.exists() else target.unlink(missing_ok=True)
            raise


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
