"""The text of a weather-station file, plain or packed, and the mark that parts its columns."""

import csv
import gzip
import io
import zipfile
import zlib
from pathlib import Path

import pandas as pd

from spatial.errors import InputError, Problem
from spatial.inputs.checks import first_line

GZIP_MARK, ZIP_MARK = b"\x1f\x8b", b"PK\x03\x04"
UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
SEPARATORS = (",", ";", "\t", "|")
UNPACK_FAULTS = (OSError, EOFError, zlib.error, zipfile.BadZipFile, RuntimeError, NotImplementedError)


def read_text(path: Path) -> str:
    """Return the text of a file, unpacked where it is a .gz or a .zip of one file.

    Raises InputError where it is not there, is empty, is damaged, or holds no text.
    """
    try:
        text = _decoded(_unpacked(path.read_bytes(), path.name))
    except FileNotFoundError as error:
        raise _wrong(path.name, "is not there", "Check its name") from error
    except UNPACK_FAULTS as error:
        raise _wrong(path.name, f"cannot be read ({first_line(error)})", "Get the file again") from error
    if "\0" in text:
        raise _wrong(path.name, "is not text", "Save it as CSV, or give the file as the archive has it")
    if not text.strip():
        raise _wrong(path.name, "is empty", "Get the file again")
    return text


def heading_of(text: str) -> list[str]:
    """Return the names in the heading line, which is the first that is neither blank nor begins with #."""
    line = text.splitlines()[_heading_place(text)]
    return [name.strip() for name in next(csv.reader([line], delimiter=_separator(line)))]


def table_of(text: str, file: str) -> pd.DataFrame:
    """Return a headed table as text, "" where empty; the index is the number of the file's line less one.

    Lines that are blank are left out. Raises InputError where the lines do not fit the heading.
    """
    place, heading = _heading_place(text), heading_of(text)
    repeated = sorted({name for name in heading if name and heading.count(name) > 1})
    if repeated:
        cause = f"has the heading {', '.join(repeated)} more than once"
        raise _wrong(file, cause, "Give every column its own name")
    table = _rows(text, file, place, len(heading))
    table.columns = pd.Index(heading)
    table.index = pd.RangeIndex(place + 1, place + 1 + len(table))
    return table[(table != "").any(axis=1)]


def rows_of(text: str, file: str, width: int) -> pd.DataFrame:
    """Return a table without heading as text, its columns numbered from 0, at least `width` of them."""
    most = max(width, len(next(csv.reader([text.splitlines()[0]]))))
    return _rows(text, file, -1, most)


def _rows(text: str, file: str, heading: int, width: int) -> pd.DataFrame:
    separator = _separator(text.splitlines()[max(heading, 0)])
    try:
        table = pd.read_csv(
            io.StringIO(text),
            sep=separator,
            header=None,
            names=range(width),
            index_col=False,
            skiprows=heading + 1,
            skip_blank_lines=False,
            skipinitialspace=True,
            dtype=str,
            keep_default_na=False,
        )
    except pd.errors.EmptyDataError:
        return pd.DataFrame(columns=range(width), dtype=object)
    except (pd.errors.ParserError, pd.errors.ParserWarning, ValueError) as error:
        cause = f"is not a readable table ({first_line(error)})"
        raise _wrong(file, cause, "Save it as CSV with as many values a line as headings") from error
    stripped: pd.DataFrame = table.fillna("").map(str.strip)
    return stripped


def _heading_place(text: str) -> int:
    lines = text.splitlines()
    return next((n for n, line in enumerate(lines) if line.strip() and not line.startswith("#")), 0)


def _separator(line: str) -> str:
    return max(SEPARATORS, key=lambda mark: len(next(csv.reader([line], delimiter=mark), [])))


def _unpacked(raw: bytes, file: str) -> bytes:
    if raw.startswith(GZIP_MARK):
        return gzip.decompress(raw)
    if not raw.startswith(ZIP_MARK):
        return raw
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        inner = [name for name in archive.namelist() if not name.endswith("/") and "__MACOSX" not in name]
        if len(inner) != 1:
            raise _wrong(file, f"holds {len(inner)} files", "Unpack it, and give the files themselves")
        return archive.read(inner[0])


def _decoded(raw: bytes) -> str:
    if raw.startswith(UTF16_MARKS):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")  # only names of places have such letters


def _wrong(file: str, cause: str, mend: str) -> InputError:
    return InputError([Problem(file, "", cause, mend)])
