"""The season's jobs of each field, as reasons with their dates, in the order of their dates."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import pandas as pd

from spatial.reasons import Reason, reason
from spatial.soil import OLD_SAMPLE_DAYS

# Late potassium, 4 to 6 weeks before the killing freeze: PPI Agri-Briefs, fall 2004, no. 5 (Snyder), and fall 2006,
# no. 6 (Stewart); a two-year Florida trial saw no effect (IPI 2017).
LATE_K_DAYS = (42, 28)
LATE_K = {"rate": "task_late_potassium", "replace": "task_late_potassium_ask"}  # by what a K sample asks for
LIME_FLAGS = {"ph_low", "ph_very_low"}
SPRING = ("task_first_nitrogen", "task_first_nitrogen_k", "task_stand_cover")

Calendar = Mapping[str, date]


def tasks(fields: pd.DataFrame, calendar: Calendar, last_calendar: Calendar, on: date) -> pd.Series:
    """Return for each field a tuple of reasons, one a job still to come or under way on day `on`.

    `fields` carries a plan's columns with the grass numbers and green_up_date; `calendar` and `last_calendar` the
    days of `rules/calendar.toml` in this season and the one before it, whose spring jobs may still be open. Each
    reason has `from_date` and `by_date`, `by_date` alone, or `start_date`.
    """
    rows = []
    for row in fields.itertuples():
        last_spring = [job for job in _jobs(row, last_calendar) if job.code in SPRING]
        rows.append(_in_order([*last_spring, *_jobs(row, calendar)], on))
    return pd.Series(rows, index=fields.index, dtype=object, name="tasks")


def in_window(calendar: Calendar, job: str, on: date) -> bool:
    """Return whether `on` lies in the days from `job`_from to `job`_by."""
    return calendar[f"{job}_from"] <= on <= calendar[f"{job}_by"]


def _in_order(jobs: list[Reason], on: date) -> tuple[Reason, ...]:
    first_of_code = {
        job.code: job for job in reversed([job for job in jobs if _end(job) >= pd.Timestamp(on)])
    }
    return tuple(sorted(first_of_code.values(), key=lambda job: (_start(job), job.code)))


def _start(job: Reason) -> pd.Timestamp:
    values = job.values
    return pd.Timestamp(str(values.get("from_date", values.get("start_date", values.get("by_date")))))


def _end(job: Reason) -> pd.Timestamp:
    # A job without an end stays open: it begins, and is done when it is done.
    return pd.Timestamp(str(job.values["by_date"])) if "by_date" in job.values else pd.Timestamp.max


def _jobs(row: Any, calendar: Calendar) -> Iterator[Reason]:
    if not row.grass_name:
        return
    yield from _samples(row, calendar)
    if row.last_cut_rule:
        yield from _fall_jobs(row, calendar)
        if pd.isna(row.green_up_date):
            yield from _winter_jobs(row, calendar)
        yield from _spring_jobs(row, calendar)


def _samples(row: Any, calendar: Calendar) -> Iterator[Reason]:
    if row.to_sample:
        yield reason(
            "task_soil_sample",
            from_date=calendar["soil_sample_from"],
            best_by_date=calendar["soil_sample_by"],
            by_date=calendar["green_up"],
        )


def _fall_jobs(row: Any, calendar: Calendar) -> Iterator[Reason]:
    if row.intent != "overseeded":
        yield reason("task_last_nitrogen", by_date=calendar["last_nitrogen"])
    if row.k2o_wanted in LATE_K and pd.notna(row.killing_freeze_date):
        yield _late_potassium(LATE_K[row.k2o_wanted], row.killing_freeze_date)
    if pd.notna(row.last_cut_date) and row.intent == "hay":
        yield reason("task_last_cut", by_date=row.last_cut_date)
    if pd.isna(row.killing_freeze_recorded_date) and pd.notna(row.watch_freeze_date):
        yield reason("task_record_freeze", start_date=row.watch_freeze_date)


def _late_potassium(code: str, freeze: pd.Timestamp) -> Reason:
    """Return the weeks for late K before the field's own killing freeze at the chosen chance."""
    first, last = (freeze - pd.Timedelta(days=days) for days in LATE_K_DAYS)
    return reason(code, from_date=first, by_date=last, killing_freeze_date=freeze)


def _winter_jobs(row: Any, calendar: Calendar) -> Iterator[Reason]:
    if _needs_lime(row):
        code = "task_lime" if row.lime_t_ha > 0 else "task_lime_ask"
        code = "task_lime_after_sample" if row.to_sample else code
        start = calendar["weeds_from"] if pd.isna(row.growth_end_date) else row.growth_end_date
        yield _span(code, start, calendar["green_up"])
    overseeded = row.intent == "overseeded"
    code = "task_weeds_overseeded" if overseeded else "task_weeds"
    yield _span(code, calendar["weeds_from"], calendar["weeds_by"])
    if row.intent == "hay" and row.freeze_cut:
        yield _span("task_thatch", calendar["thatch_from"], calendar["thatch_by"])


def _spring_jobs(row: Any, calendar: Calendar) -> Iterator[Reason]:
    if row.intent != "overseeded":
        start = calendar["green_up"] if pd.isna(row.green_up_date) else row.green_up_date
        fresh = pd.Timestamp(start) - row.soil_k_date <= pd.Timedelta(days=OLD_SAMPLE_DAYS["k"])
        code = "task_first_nitrogen_k" if fresh and row.k2o_wanted in LATE_K else "task_first_nitrogen"
        yield _span(code, start, calendar["spring_by"])
    yield reason("task_stand_cover", by_date=calendar["spring_by"])


def _span(code: str, first: date, last: date) -> Reason:
    return reason(code, from_date=first, by_date=last)


def _needs_lime(row: Any) -> bool:
    """Return whether a lab sample asks for lime; without a rate a low pH of a fresh sample does."""
    codes = {flag.code for flag in row.flags}
    old = any(flag.code == "soil_test_old" and "ph" in flag.values["nutrients"] for flag in row.flags)
    return row.lime_t_ha > 0 or (pd.isna(row.lime_t_ha) and not old and bool(codes & LIME_FLAGS))
