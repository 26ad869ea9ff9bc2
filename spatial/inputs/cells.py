"""What the cells of a column say: text, numbers, dates, yes or no; and which say none of it."""

from collections.abc import Callable

import numpy as np
import pandas as pd

from spatial.columns import Kind

MOST = 1e300
EARLIEST, LATEST = pd.Timestamp("1950-01-01"), pd.Timestamp("2100-01-01")
MISSING = {"", "na", "n/a", "nan", "null"}  # how other programs write an empty number or date
YES, NO = {"yes", "y", "true", "1", "x"}, {"no", "n", "false", "0", ""}
DAY_AND_HOUR = r"\d{4}-\d{2}-\d{2}[T ]\d{2}:"


def is_number(value: object) -> bool:
    """Return whether a value of a TOML file is a number that can be reckoned with; a whole one may be too long."""
    return isinstance(value, int | float) and not isinstance(value, bool) and not abs(value) > MOST


def parsed(kind: Kind, raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    """Return the values of a column and which cells are filled but say no such thing.

    Numbers come as float (NaN missing), dates as datetime64 (NaT), text as str (empty), yes_no as bool.
    """
    return _PARSE[kind](raw)


def text_of(raw: pd.Series) -> pd.Series:
    """Return cells as trimmed text, "" where missing; a whole number kept as a decimal loses its ".0"."""
    filled = raw.astype(object).where(raw.notna(), "")
    return pd.Series([_word(value) for value in filled], index=raw.index, dtype=object)


def code_of(text: pd.Series) -> pd.Series:
    """Return words as they are compared: small letters, spaces and hyphens as underscores."""
    return pd.Series(
        ["_".join(str(word).lower().replace("-", " ").split()) for word in text],
        index=text.index,
        dtype=object,
    )


def _word(value: object) -> str:
    if isinstance(value, float | np.floating) and np.isfinite(value) and value == int(value):
        return str(int(value))
    return str(value).strip()


def _text(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    return text_of(raw), pd.Series(False, index=raw.index)


def _numbers(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    text = text_of(raw)
    missing = text.str.lower().isin(MISSING)
    values = pd.to_numeric(text.mask(missing), errors="coerce").astype(float)
    values = values.where(np.isfinite(values))
    return values, values.isna() & ~missing


def _dates(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    text = text_of(raw)
    missing = text.str.lower().isin(MISSING)
    day = text.where(~text.str.match(DAY_AND_HOUR), text.str.slice(0, 10)).mask(missing)
    values = pd.to_datetime(day, format="%Y-%m-%d", errors="coerce")
    values = values.where((values >= EARLIEST) & (values <= LATEST)).astype("datetime64[ns]")
    return values, values.isna() & ~missing


def _yes_no(raw: pd.Series) -> tuple[pd.Series, pd.Series]:
    text = text_of(raw).str.lower()
    return text.isin(YES), ~text.isin(YES | NO)


_PARSE: dict[str, Callable[[pd.Series], tuple[pd.Series, pd.Series]]] = {
    "text": _text,
    "number": _numbers,
    "date": _dates,
    "yes_no": _yes_no,
}
