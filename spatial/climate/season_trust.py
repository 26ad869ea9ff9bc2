"""What a record's days do not let one know of its seasons: reasons to refuse it, and what its reader must be told."""

from collections.abc import Sequence

from spatial.climate.season_days import CoveredSeasons, SeasonDays
from spatial.climate.seasons import MOST_MISSING_DAYS
from spatial.errors import Problem
from spatial.raster.freeze_codes import NO_FREEZE, day_of_year

LEAST_PART_DAYS = 30  # fewer days of the year tell of no first freeze
FALL_DAYS = 152  # from 1 August to 31 December: a record that ends sooner misses part of the fall
MOST_EARLY_SHARE = 0.01  # of the known seasons of all cells, that may freeze on the very first day
MOST_FROZEN_SHARE = 0.5  # likewise; more cannot be a first freeze
MOST_LISTED = 6

Wanted = tuple[int, int] | None


def faults(
    file: str, covered: CoveredSeasons, chosen: Sequence[SeasonDays], wanted: Wanted, least: int
) -> list[Problem]:
    """Return why no chances can be worked out from a record: too little of the year, or of the years."""
    first, last = covered.part_days
    if last - first + 1 < LEAST_PART_DAYS:
        cause = f"holds the days {_part(covered)} only"
        return [Problem(file, "", cause, "Give the days from before the first freeze to midwinter")]
    if len(chosen) < least:
        among = "" if wanted is None else f" of {wanted[0]}-{wanted[1]}"
        found = f" ({_listed([one.season.year for one in chosen])})" if chosen else ""
        cause = f"holds {len(chosen)} season{'s' * (len(chosen) != 1)}{among} that can be known{found}"
        return [Problem(file, "", cause, f"Give {least} at least: chances need them")]
    return []


def remarks(
    file: str, covered: CoveredSeasons, chosen: Sequence[SeasonDays], wanted: Wanted, known: Sequence[int]
) -> list[Problem]:
    """Return what must be told of the seasons of a record: those left out, those with gaps, and its end.

    `known` are the seasons of which some cell is known.
    """
    years = {one.season.year for one in chosen}
    asked = sorted(years | set(covered.hopeless)) if wanted is None else range(wanted[0], wanted[1] + 1)
    late = [year for year in asked if year in covered.hopeless]
    gone = [year for year in asked if year not in years and year not in late]
    gaps = [
        one.season.year
        for one in chosen
        if one.absent_before[NO_FREEZE] > MOST_MISSING_DAYS and one.season.year in known
    ]
    nowhere = sorted(years - set(known))
    told = []
    if nowhere:
        cause = "are known in no cell: too many of their days are missing"
        told.append(Problem(file, f"seasons {_listed(nowhere)}", cause, "Give the days that lack"))
    if late:
        cause = f"begin in the file when more than {MOST_MISSING_DAYS} of their days are past, so left out"
        told.append(Problem(file, f"seasons {_listed(late)}", cause, "Give the days before"))
    if gone:
        told.append(Problem(file, f"seasons {_listed(gone)}", "are not in the file", "Give more files"))
    if gaps:
        cause = f"lack more than {MOST_MISSING_DAYS} days, so known only where the freeze came before"
        told.append(Problem(file, f"seasons {_listed(gaps)}", cause, "Give the days that lack"))
    if covered.part_days[1] < FALL_DAYS:
        cause = f"holds the days {_part(covered)} only, so no freeze means none by then"
        told.append(Problem(file, "", cause, "Give days to midwinter where freezes come later"))
    return told


def early_faults(file: str, covered: CoveredSeasons, early: int, known: int) -> list[Problem]:
    """Return why a record cannot serve of which most seasons freeze on their very first day."""
    if early <= MOST_FROZEN_SHARE * known:
        return []
    cause = (
        f"freezes in {early / known:.0%} of its seasons on their first day, {day_of_year(covered.part[0])}"
    )
    return [Problem(file, "values", cause, "Check their unit, or give the days before the first freeze")]


def early_remarks(file: str, covered: CoveredSeasons, early: int, known: int) -> list[Problem]:
    """Return what must be told where `early` of `known` seasons of cells freeze on their very first day."""
    if early <= MOST_EARLY_SHARE * known:
        return []
    cause = (
        f"begins on {day_of_year(covered.part[0])}, when {early / known:.0%} of its seasons freeze already"
    )
    return [Problem(file, "", cause, "Give earlier days: their first freeze may have come before")]


def _part(covered: CoveredSeasons) -> str:
    return f"{day_of_year(covered.part[0])} to {day_of_year(covered.part[1])}"


def _listed(years: Sequence[int]) -> str:
    more = f" and {len(years) - MOST_LISTED} more" if len(years) > MOST_LISTED else ""
    return ", ".join(map(str, years[:MOST_LISTED])) + more
