"""What the cells of a station file say: temperatures with their ways to be missing, and days."""

import re

import numpy as np
import pandas as pd

MISSING_WORDS = {
    *("", "na", "n/a", "#n/a", "nan", "null", "none", "m", "t", "miss", "missing", "msg"),
    *("-", "--", "---", ".", "?", "*"),
}
# None of these can be a minimum in deg F, deg C or tenths of deg C.
MISSING_NUMBERS = (
    -9999.0,
    9999.0,
    -9999.9,
    9999.9,
    -999.0,
    999.0,
    -999.9,
    999.9,
    -99.9,
    -99999.0,
    99999.0,
    -6999.0,
)
DECIMAL_COMMA = r"^([-+]?\d+),(\d+)$"
TIME_OF_DAY = r"[T ]\d{1,2}:.*$"
YEAR_FIRST = re.compile(r"\d{4}([-/.])\d{1,2}\1\d{1,2}")
NO_SHARE_OF_DAY = r"^(\d{8})\.0*$"
EIGHT_DIGITS = re.compile(r"\d{8}")
SHORT_YEAR = re.compile(r"\d{1,2}([-/.])\d{1,2}\1\d{2}")
MONTH_NAMED = {
    re.compile(r"\d{1,2} [a-z]{3} \d{4}"): "%d %b %Y",
    re.compile(r"\d{1,2} [a-z]{4,9} \d{4}"): "%d %B %Y",
    re.compile(r"[a-z]{3} \d{1,2} \d{4}"): "%b %d %Y",
    re.compile(r"[a-z]{4,9} \d{1,2} \d{4}"): "%B %d %Y",
}
YEAR_LAST = re.compile(r"\d{1,2}([-/.])\d{1,2}\1\d{4}")
MONTH_ONLY = re.compile(r"\d{4}[-/.]?\d{2}")
EARLIEST_YEAR, LATEST_YEAR = 1700, 2100
MONTHS = 12


def numbers_of(text: pd.Series) -> tuple[pd.Series, pd.Series]:
    """Return cells as numbers, NaN where missing, and which of them are filled but say no number."""
    word = text.str.strip().str.replace("\u2212", "-").str.replace(DECIMAL_COMMA, r"\1.\2", regex=True)
    missing = word.str.lower().isin(MISSING_WORDS)
    values = pd.to_numeric(word.mask(missing), errors="coerce").astype(np.float64)
    bad = ~(values.abs() < np.inf) & ~missing
    return values.mask(values.isin(MISSING_NUMBERS) | bad), bad


def days_of(text: pd.Series) -> tuple[pd.Series, str]:
    """Return cells as days (NaT where they say none), and how they are written.

    The way is "year first", "month first", "day first", "month named", "unclear" (month or day first: no cell
    decides), "short year" (of two digits), "months" (there are no days), or "" (not as dates).
    """
    word = text.str.strip().str.replace(TIME_OF_DAY, "", regex=True)
    word = word.str.replace(NO_SHARE_OF_DAY, r"\1", regex=True)
    first = next((cell for cell in word if cell), "")
    if YEAR_FIRST.fullmatch(first):
        return _parsed(word.str.replace("[/.]", "-", regex=True), "%Y-%m-%d"), "year first"
    if EIGHT_DIGITS.fullmatch(first):
        return _parsed(word, "%Y%m%d"), "year first"
    if YEAR_LAST.fullmatch(first):
        way = _order(word)
        day_month = "%d-%m" if way == "day first" else "%m-%d"
        return _parsed(word.str.replace("[/.]", "-", regex=True), f"{day_month}-%Y"), way
    return _rarer(word, first)


def days_of_parts(year: pd.Series, month: pd.Series, day: pd.Series) -> pd.Series:
    """Return the days that a year, a month and a day in columns of their own make; NaT where they make none."""
    parts = {"year": year, "month": month, "day": day}
    numbers = pd.DataFrame({name: pd.to_numeric(cells, errors="coerce") for name, cells in parts.items()})
    whole = (numbers % 1 == 0).all(axis=1)
    return _within(pd.to_datetime(numbers.where(whole), errors="coerce"))


def days_of_year(year: pd.Series, day: pd.Series) -> pd.Series:
    """Return the days that a year and a day of the year, from 1, make; NaT where they make none."""
    years, days = (pd.to_numeric(cells, errors="coerce") for cells in (year, day))
    text = years.map("{:.0f}".format) + "-" + days.where(days % 1 == 0).map("{:03.0f}".format)
    return _parsed(text, "%Y-%j")


def _rarer(word: pd.Series, first: str) -> tuple[pd.Series, str]:
    named = word.str.lower().str.replace(r"[-/., ]+", " ", regex=True)
    own = re.sub(r"[-/., ]+", " ", first.lower())
    for pattern, form in MONTH_NAMED.items():
        if pattern.fullmatch(own):
            # May is short and long at once, so that the first cell may not tell which the others are.
            other = form.replace("%b", "%B") if "%b" in form else form.replace("%B", "%b")
            return _parsed(named, form).fillna(_parsed(named, other)), "month named"
    way = "months" if MONTH_ONLY.fullmatch(first) else "short year" if SHORT_YEAR.fullmatch(first) else ""
    return _parsed(word, "%Y-%m-%d"), way


def _order(word: pd.Series) -> str:
    parts = word[word.str.fullmatch(YEAR_LAST.pattern)].str.split("[-/.]", regex=True)
    months = parts.str[0].astype(int).max() > MONTHS, parts.str[1].astype(int).max() > MONTHS
    return {(False, True): "month first", (True, False): "day first"}.get(months, "unclear")


def _parsed(word: pd.Series, form: str) -> pd.Series:
    return _within(pd.to_datetime(word, format=form, errors="coerce"))


def _within(days: pd.Series) -> pd.Series:
    kept: pd.Series = days.where(days.dt.year.between(EARLIEST_YEAR, LATEST_YEAR)).astype("datetime64[ns]")
    return kept
