"""The text of a weather-station file, plain or packed, and the mark that parts its columns."""

import csv
import gzip
import io
import itertools
import re
import zipfile
import zlib
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from spatial.errors import InputError, Problem
from spatial.inputs.checks import first_line, listed

GZIP_MARK, ZIP_MARK = b"\x1f\x8b", b"PK\x03\x04"
UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
SEPARATORS = (",", ";", "\t", "|")
SPACE = " "
END_MARKS = "\0\x1a"  # what old programs put at the end of a text
OTHER_FORMS = {"<": "a web page", "{": "JSON", "[": "JSON", "%PDF": "a PDF"}
SPREADSHEET = "[Content_Types].xml"
HEADING_LINES = 60  # among so many the heading is looked for
HEADING_DATES = {"date", "datetime", "timestamp", "time", "day", "year", "yr", "yyyy", "yyyymmdd"}
MOST_HEADING_WORDS = 3  # of a heading that names a date; more are a remark above the table
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
        cause = getattr(error, "strerror", None) or first_line(error)
        raise _wrong(path.name, f"cannot be read ({cause})", "Get the file again") from error
    if "\0" in text:
        raise _wrong(path.name, "is not text", "Save it as CSV, or give the file as the archive has it")
    if not text.strip():
        raise _wrong(path.name, "is empty", "Get the file again")
    form = next((form for mark, form in OTHER_FORMS.items() if text.lstrip().startswith(mark)), "")
    if form:
        raise _wrong(path.name, f"is {form}, not a table", "Give the record as CSV, or as the archive has it")
    return text


def heading_of(text: str) -> list[str]:
    """Return the names in the heading line.

    It is the first that names a date or a year among other names, and else the first that is neither blank nor
    begins with #.
    """
    line = text.splitlines()[_heading_place(text)]
    return _cells(line, _separator(line))


def table_of(text: str, file: str) -> pd.DataFrame:
    """Return a headed table as text, "" where empty; the index is the number of the file's line less one.

    Lines that are blank or begin with # are left out. Raises InputError where the lines do not fit the heading.
    """
    place, heading = _heading_place(text), heading_of(text)
    repeated = sorted({name for name in heading if name and heading.count(name) > 1})
    if repeated:
        cause = f"has the heading {', '.join(repeated)} more than once"
        raise _wrong(file, cause, "Give every column its own name")
    table = _rows(text, file, place, len(heading))
    table.index = pd.RangeIndex(place + 1, place + 1 + len(table))
    table = table[(table != "").any(axis=1) & ~table[0].str.startswith("#")]
    _refuse_longer(table, len(heading), file)
    table = table.iloc[:, : len(heading)]
    table.columns = pd.Index(heading)
    return table


def rows_of(text: str, file: str, width: int) -> pd.DataFrame:
    """Return a table without heading as text, its columns numbered from 0, at least `width` of them."""
    return _rows(text, file, -1, width)


def _rows(text: str, file: str, heading: int, width: int) -> pd.DataFrame:
    separator = _separator(text.splitlines()[max(heading, 0)])
    try:
        table = pd.read_csv(
            io.StringIO(text),
            sep=separator,
            header=None,
            names=range(max(width, _longest(text, separator, heading + 1))),
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


def _longest(text: str, separator: str, skipped: int) -> int:
    """Return how many values the longest line has."""
    body = itertools.islice(io.StringIO(text), skipped, None)
    lines = csv.reader(body, delimiter=separator, skipinitialspace=True)
    return max((len(cells) for cells in lines), default=0)


def _refuse_longer(table: pd.DataFrame, width: int, file: str) -> None:
    longer = (table.iloc[:, width:] != "").any(axis=1)
    if longer.any():
        rows = listed("row", table.index[longer] + 1)
        cause = f"has more values than there are headings, which are {width}"
        raise InputError([Problem(file, rows, cause, "Mend or remove it")])


def _heading_place(text: str) -> int:
    lines = list(itertools.islice(text.splitlines(), HEADING_LINES))
    filled = [n for n, line in enumerate(lines) if line.strip() and not line.startswith("#")]
    names_days = (n for n in filled if _is_heading(_cells(lines[n], _separator(lines[n]))))
    return next(names_days, filled[0] if filled else 0)


def _is_heading(cells: Sequence[str]) -> bool:
    """Tell whether cells are names, more than one, a date's or a year's among them."""
    names = [cell for cell in cells if cell]
    written = not any(cell[0].isdecimal() or cell[0] in "+-" or cell.endswith(":") for cell in names)
    words = [re.findall("[a-z]+", name.lower()) for name in names]
    dated = any(len(one) <= MOST_HEADING_WORDS and HEADING_DATES & set(one) for one in words)
    return len(names) > 1 and written and dated


def _cells(line: str, separator: str) -> list[str]:
    found = next(csv.reader([line.strip(SPACE)], delimiter=separator, skipinitialspace=True), [])
    return [cell.strip() for cell in found]


def _separator(line: str) -> str:
    """Return the mark that parts most cells of a line; spaces do where no other mark is there."""
    counts = {mark: len(_cells(line, mark)) for mark in SEPARATORS}
    mark = max(SEPARATORS, key=lambda one: counts[one])
    return mark if counts[mark] > 1 else SPACE


def _unpacked(raw: bytes, file: str) -> bytes:
    if raw.startswith(GZIP_MARK):
        return gzip.decompress(raw)
    if not raw.startswith(ZIP_MARK):
        return raw
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        inner = [name for name in archive.namelist() if not name.endswith("/") and "__MACOSX" not in name]
        if SPREADSHEET in inner:
            raise _wrong(file, "is a spreadsheet", "Save its sheet as CSV")
        if len(inner) != 1:
            raise _wrong(file, f"holds {len(inner)} files", "Unpack it, and give the files themselves")
        return archive.read(inner[0])


def _decoded(raw: bytes) -> str:
    if raw.startswith(UTF16_MARKS):
        return raw.decode("utf-16", errors="replace")
    if raw[:HEADING_LINES] and not any(raw[1:HEADING_LINES:2]) and raw[0]:
        return raw.decode("utf-16-le", errors="replace")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")  # only names of places have such letters
    return text.rstrip(END_MARKS)


def _wrong(file: str, cause: str, mend: str) -> InputError:
    return InputError([Problem(file, "", cause, mend)])
