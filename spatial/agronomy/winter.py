"""The season's jobs of each field, as reasons with their dates, in the order of their dates."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason

# Late potassium, before the killing freeze: PPI 2004, 2006; a two-year Florida trial saw no effect (IPI 2017).
LATE_K_DAYS = (42, 28)
K_FLAGS = {"k_low", "k_medium"}
LIME_FLAGS = {"ph_low", "ph_very_low"}


def tasks(fields: pd.DataFrame, calendar: Mapping[str, date], on: date) -> pd.Series:
    """Return for each field a tuple of reasons, one a job still to come or under way on day `on`.

    `fields` carries a plan's columns with the grass numbers; `calendar` the days of `rules/calendar.toml` in this
    season. Each reason has `from_date` and `by_date`, or one of them.
    """
    rows = [_in_order(_jobs(row, calendar), on) for row in fields.itertuples()]
    return pd.Series(rows, index=fields.index, dtype=object, name="tasks")


def burn_window(calendar: Mapping[str, date], on: date) -> bool:
    """Return whether `on` lies in the weeks before green-up, when thatch may be burned."""
    return calendar["thatch_from"] <= on <= calendar["thatch_by"]


def _in_order(jobs: Iterator[Reason], on: date) -> tuple[Reason, ...]:
    open_jobs = [job for job in jobs if _end(job) >= pd.Timestamp(on)]
    return tuple(sorted(open_jobs, key=lambda job: (_start(job), job.code)))


def _start(job: Reason) -> pd.Timestamp:
    return pd.Timestamp(str(job.values.get("from_date", job.values.get("by_date"))))


def _end(job: Reason) -> pd.Timestamp:
    # A job without an end stays open until the next season: it begins, and is done when it is done.
    return pd.Timestamp(str(job.values["by_date"])) if "by_date" in job.values else pd.Timestamp.max


def _jobs(row: Any, calendar: Mapping[str, date]) -> Iterator[Reason]:
    if not row.grass_name:
        return
    yield from _fall_jobs(row, calendar)
    yield from _winter_jobs(row, calendar)
    yield reason("task_first_nitrogen", from_date=calendar["green_up"])
    if row.last_cut_rule:
        yield reason("task_stand_cover", by_date=calendar["stand_cover"])


def _fall_jobs(row: Any, calendar: Mapping[str, date]) -> Iterator[Reason]:
    codes = {flag.code for flag in row.flags}
    if codes & {"sample_soil", "sample_ph", "soil_test_old"}:
        yield reason(
            "task_soil_sample", from_date=calendar["soil_sample_from"], by_date=calendar["soil_sample_by"]
        )
    if row.last_cut_rule:
        yield reason("task_last_nitrogen", by_date=calendar["last_nitrogen"])
    fresh_k = codes & K_FLAGS and not any(
        flag.code == "soil_test_old" and flag.values["nutrient"] == "k" for flag in row.flags
    )
    if fresh_k and row.last_cut_rule and pd.notna(row.killing_freeze_date):
        first, last = (row.killing_freeze_date - pd.Timedelta(days=days) for days in LATE_K_DAYS)
        yield reason("task_late_potassium", from_date=first, by_date=last)
    if pd.notna(row.last_cut_date) and row.intent == "hay":
        yield reason("task_last_cut", by_date=row.last_cut_date)


def _winter_jobs(row: Any, calendar: Mapping[str, date]) -> Iterator[Reason]:
    freeze = row.killing_freeze_recorded_date
    if pd.isna(freeze) and pd.notna(row.ask_date):
        yield reason("task_record_freeze", from_date=row.ask_date)
    fresh_ph = {flag.code for flag in row.flags} & LIME_FLAGS and not any(
        flag.code == "soil_test_old" and flag.values["nutrient"] == "ph" for flag in row.flags
    )
    if fresh_ph and pd.notna(row.growth_end_date):
        yield reason("task_lime", from_date=row.growth_end_date, by_date=calendar["green_up"])
    if not row.last_cut_rule:
        return
    overseeded = row.intent == "overseeded"
    code = "task_weeds_overseeded" if overseeded else "task_weeds"
    yield reason(code, from_date=calendar["weeds_from"], by_date=calendar["weeds_by"])
    if row.intent == "hay":
        yield reason("task_thatch", from_date=calendar["thatch_from"], by_date=calendar["thatch_by"])
