"""What the soil of a field is called on map, page and paper: its class, whether it is only mapped, its own section."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd

from maps import labels
from maps.page_words import PAGE
from maps.purchases import per_area, total
from maps.style import K_LOOKS, P_LOOKS, PH_LOOKS, Look
from spatial.reasons import Reason

Row = dict[str, Any]
Pairs = list[tuple[str, str]]
MAPPED = ("raster", "survey")  # origins of which no rate may come
UNKNOWN_TAG = "–"
NUTRIENTS = ("k", "p", "mg")  # in the order they are read


@dataclass(frozen=True)
class SoilShow:
    """One way to show the fields by their soil: its looks and what its classes are called, alone and in a legend."""

    by: str
    looks: tuple[Look, ...]
    words: Mapping[str, str]
    short: Mapping[str, str]


PH_CLASSES = {
    "very_low": "far below target",
    "low": "below target",
    "enough": "at target",
    "high": "high",
    "": "not known",
}
CLASSES = {"low": "low", "medium": "medium", "enough": "enough", "": "not known"}
SOIL_SHOWS = tuple(
    SoilShow(by, looks, {code: f"{labels.NUTRIENTS[by]} {word}" for code, word in words.items()}, words)
    for by, looks, words in (("ph", PH_LOOKS, PH_CLASSES), ("k", K_LOOKS, CLASSES), ("p", P_LOOKS, CLASSES))
)


def shows_of(rows: Sequence[Row]) -> tuple[SoilShow, ...]:
    """Return the ways to show rows by their soil: those that know the class of one of them at least."""
    return tuple(show for show in SOIL_SHOWS if any(row[show.by] for row in rows))


def with_soil(row: Row, part: Row | None) -> Row:
    """Return a row with its classes `ph`, `k`, `p` ("" not known), what is `mapped` only, and the `part` to sample."""
    classes = {show.by: row[f"soil_{show.by}_class"] or "" for show in SOIL_SHOWS}
    told = classes | {"ph": row["soil_ph"] is not None}  # a pH without a target has no class
    mapped = [by for by in classes if told[by] and row[f"soil_{by}_origin"] in MAPPED]
    return row | classes | {"mapped": mapped, "part": part}


WHOLE_SHARE = 0.9  # from here on a part is drawn as the whole field


def sample_parts(parts: gpd.GeoDataFrame) -> dict[str, Row]:
    """Return for each field the part to sample first: ph, share of the field, geometry (EPSG:4326).

    A part that is all of the field but a rest is none: the field itself is to be sampled then.
    """
    parts = parts[parts["share"] < WHOLE_SHARE]
    columns = ("ph", "share", "geometry")
    rows = zip(parts.index.astype(str), *(parts[name] for name in columns), strict=True)
    return {field_id: dict(zip(columns, values, strict=True)) for field_id, *values in rows}


def tags(row: Row) -> dict[str, str]:
    """Return what is written on a field for each way to show its soil: pH or class, with "~" where it is mapped."""
    plain = {show.by: show.short[row[show.by]] if row[show.by] else UNKNOWN_TAG for show in SOIL_SHOWS}
    if row["soil_ph"] is not None:
        plain["ph"] = f"{row['soil_ph']:.1f}"
    return {by: f"{PAGE['mapped_mark']}{text}" if by in row["mapped"] else text for by, text in plain.items()}


def said(row: Row) -> dict[str, str]:
    """Return for each way to show the soil of a field what the list says of it: "pH 5.4, lab sample"."""
    return {show.by: _said(row, show) for show in SOIL_SHOWS}


def soil_section(row: Row, units: str) -> dict[str, Any]:
    """Return the soil section of a field's sheet: figures with their origin, then what to do about them."""
    reasons = [one for name in ("flags", "lime", "nutrients", "ground") for one in row[name] or ()]
    lines = [*_sentences(reasons, units), *_schemes(row)]
    pairs = [*_ph(row), *_ratings(row), *_lime(row, units), *_land(row)]
    return {
        "title": PAGE["soil"],
        "pairs": [list(pair) for pair in pairs if pair[1]],
        "lines": list(dict.fromkeys(lines)) or [PAGE["no_flags"]],
    }


def origin_words(row: Row, by: str) -> str:
    """Return where a value is from: "lab sample", or "soil survey"; "" where there is none."""
    origin = row[f"soil_{by}_origin"] or ""
    return labels.ORIGINS.get(origin, origin)


def _said(row: Row, show: SoilShow) -> str:
    has_ph = show.by == "ph" and row["soil_ph"] is not None
    if not row[show.by] and not has_ph:
        return show.words[""]
    value = f"{PAGE['ph']} {row['soil_ph']:.1f}" if has_ph else show.words[row[show.by]]
    return f"{value}, {PAGE['mapped'] if show.by in row['mapped'] else origin_words(row, show.by)}"


def _sentences(reasons: Iterable[Reason], units: str) -> list[str]:
    return [labels.sentence(why, units) for why in reasons]


def _ph(row: Row) -> Pairs:
    value, target = row["soil_ph"], row["target_ph"]
    if value is None:
        return [(PAGE["ph"], PAGE["unknown"])]
    stands = ", ".join(word for word in (f"{value:.1f}", PH_CLASSES[row["ph"]] if row["ph"] else "") if word)
    source = (origin_words(row, "ph"), labels.day_in_year(row["soil_ph_date"]))
    return [
        (PAGE["ph"], PAGE["value_mapped"].format(value=stands) if "ph" in row["mapped"] else stands),
        (PAGE["target_ph"], "" if target is None else f"{target:.1f}"),
        (PAGE["ph_from"], ", ".join(word for word in source if word)),
        *_ph_on_the_field(row),
    ]


def _ph_on_the_field(row: Row) -> Pairs:
    """Return how a mapped pH lies on the field: least and greatest, how much is mapped, how much is low, the worst."""
    least, greatest, part = row["soil_ph_least"], row["soil_ph_greatest"], row["part"]
    cover, low = row["soil_ph_cover_share"], row["soil_ph_low_share"]
    span = "" if least is None or greatest is None else PAGE["from_to"].format(first=least, last=greatest)
    mapped = "ph" in row["mapped"]
    return [
        (PAGE["ph_range"], span),
        (PAGE["ph_cover"], _share(cover, "of_field") if mapped else ""),
        (PAGE["ph_low"], _share(low, "of_that") if mapped else ""),
        (PAGE["sample_first"], _part(part) if part else ""),
    ]  # fmt: skip


def _share(share: float | None, what: str) -> str:
    return "" if share is None else PAGE[what].format(share=f"{100 * share:.0f}")


def _part(part: Row) -> str:
    return PAGE["sample_part"].format(ph=f"{part['ph']:.1f}", share=f"{100 * part['share']:.0f}")


def _ratings(row: Row) -> Pairs:
    return [(labels.NUTRIENTS[nutrient], _rating(row, nutrient)) for nutrient in NUTRIENTS]


def _rating(row: Row, nutrient: str) -> str:
    rating = row[f"soil_{nutrient}_rating"]
    if not rating:
        return ""
    if row[f"soil_{nutrient}_origin"] in MAPPED:
        return PAGE["value_mapped"].format(value=rating)
    return ", ".join(word for word in (rating, origin_words(row, nutrient)) if word)


def _lime(row: Row, units: str) -> Pairs:
    rate, whole = row["lime_t_ha"], row["lime_t"]
    if rate is None:
        return []
    if rate == 0:
        return [(PAGE["lime"], PAGE["no_lime"])]
    amount = "" if whole is None else PAGE["in_all"].format(amount=total("lime", (whole, whole), units))
    return [
        (PAGE["lime"], ", ".join(part for part in (per_area("lime", (rate, rate), units), amount) if part))
    ]


def _land(row: Row) -> Pairs:
    return [
        (PAGE["drainage"], row["drainage"] or ""),
        (PAGE["slope"], "" if row["slope_share"] is None else f"{100 * row['slope_share']:.0f} %"),
    ]


def _schemes(row: Row) -> list[str]:
    """Return who says what is low and what enough, where a rating stands."""
    rated = [row[f"soil_{nutrient}_scheme"] for nutrient in NUTRIENTS if row[f"soil_{nutrient}_rating"]]
    names = list(dict.fromkeys(name for name in rated if name))
    return [PAGE["rated_by"].format(schemes=", ".join(names))] if names else []
