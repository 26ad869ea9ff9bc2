"""What a run of zones says at the end: the dates of each grass, area by area."""

from collections.abc import Iterator

from maps.labels import chance_words, day, day_in_year, sentence
from maps.zones.rows import grass_name, is_outside
from maps.zones.words import REPORT
from spatial.zones import Zones


def zone_lines(zones: Zones) -> Iterator[str]:
    """Yield the lines: what was mapped, then earliest, middle and latest last-cut date of each area, then notes."""
    yield f"{zones.region.name}, {day_in_year(zones.settings.on)}: {chance_words(zones.settings.chance)}"
    chosen = zones.areas[zones.areas["chance"] == zones.settings.chance]
    for grass, rows in chosen.groupby("grass", sort=False):
        yield REPORT["grass"].format(grass=grass_name(zones.region, str(grass)), year=zones.season.year)
        for row in rows.to_dict("records"):
            dates = {name: day(row[name]) for name in ("earliest_date", "middle_date", "latest_date")}
            yield REPORT["area_outside" if is_outside(row) else "area"].format(area=row["area"], **dates)
    yield REPORT["shares"]
    for note in zones.notes:
        yield sentence(note, zones.region.units)
