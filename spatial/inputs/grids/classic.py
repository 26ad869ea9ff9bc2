"""How long a NetCDF file of the classic formats must be, by its own header: one cut short would be read as zeros."""

import io
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

FORMATS = {b"CDF\x01": (4, 4), b"CDF\x02": (4, 8), b"CDF\x05": (8, 8)}  # bytes of a count and of a place
TYPE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 4, 6: 8, 7: 1, 8: 2, 9: 4, 10: 8, 11: 8}
STREAMING = (2**32 - 1, 2**64 - 1)  # a number of records that nobody has counted yet


@dataclass(frozen=True)
class _Variable:
    values: int  # in all, or in one record
    type_bytes: int
    by_record: bool
    begin: int

    @property
    def padded(self) -> int:
        return -(-self.values * self.type_bytes // 4) * 4


def is_cut_short(path: Path) -> bool:
    """Return whether a file of a classic format ends before the last value that its header tells of.

    False for files of other formats. The layout is that of the NetCDF Classic Format Specification (Unidata).
    """
    with path.open("rb") as file:
        if file.read(4) not in FORMATS:
            return False
        file.seek(0)
        size = file.seek(0, io.SEEK_END)
        file.seek(0)
        try:
            return size < _needed(file)
        except struct.error:
            return True


def _needed(file: BinaryIO) -> int:
    count_bytes, place_bytes = FORMATS[file.read(4)]
    records = _number(file, count_bytes)
    lengths = [_dimension(file, count_bytes) for _ in range(_items(file, count_bytes))]
    _skip_attributes(file, count_bytes)
    variables = [_variable(file, lengths, count_bytes, place_bytes) for _ in range(_items(file, count_bytes))]
    fixed = [one.begin + one.values * one.type_bytes for one in variables if not one.by_record]
    by_record = [one for one in variables if one.by_record]
    # The records of a single variable stand without a gap between them.
    step = sum(one.padded for one in by_record)
    if len(by_record) == 1:
        step = by_record[0].values * by_record[0].type_bytes
    if records and records not in STREAMING:
        fixed += [one.begin + (records - 1) * step + one.values * one.type_bytes for one in by_record]
    return max(fixed, default=0)


def _number(file: BinaryIO, size: int) -> int:
    return int(struct.unpack({4: ">I", 8: ">Q"}[size], file.read(size))[0])


def _items(file: BinaryIO, count_bytes: int) -> int:
    _number(file, 4)  # what kind of list it is
    return _number(file, count_bytes)


def _skip(file: BinaryIO, size: int) -> None:
    file.seek(-(-size // 4) * 4, io.SEEK_CUR)


def _dimension(file: BinaryIO, count_bytes: int) -> int:
    _skip(file, _number(file, count_bytes))
    return _number(file, count_bytes)


def _skip_attributes(file: BinaryIO, count_bytes: int) -> None:
    for _ in range(_items(file, count_bytes)):
        _skip(file, _number(file, count_bytes))
        kind = _number(file, 4)
        _skip(file, TYPE_BYTES.get(kind, 1) * _number(file, count_bytes))


def _variable(file: BinaryIO, lengths: list[int], count_bytes: int, place_bytes: int) -> _Variable:
    _skip(file, _number(file, count_bytes))
    dims = [_number(file, count_bytes) for _ in range(_number(file, count_bytes))]
    _skip_attributes(file, count_bytes)
    kind = _number(file, 4)
    _number(file, count_bytes)  # its own size, which large variables cannot say
    begin = _number(file, place_bytes)
    sizes = [lengths[one] for one in dims if one < len(lengths)]
    by_record = bool(sizes) and sizes[0] == 0  # only the dimension of records has no length
    values = 1
    for size in sizes[1:] if by_record else sizes:
        values *= size
    return _Variable(values, TYPE_BYTES.get(kind, 1), by_record, begin)
