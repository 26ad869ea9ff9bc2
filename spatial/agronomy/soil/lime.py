"""The lime that each field needs by its lab samples: how much, of what, in how many applications, and why."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from spatial.agronomy.soil.lime_product import applications
from spatial.agronomy.soil.lime_samples import sample_rates
from spatial.reasons import Reason, once, reason
from spatial.soil import LimeRules

MOST_ZONES_TOLD = 4
SAME_LAND_SHARE = (
    0.1  # zones that name no more than this less or more than the field are taken for it: common practice
)
COLUMNS = ("lime_t_ha", "lime_applications", "lime_product", "lime")


@dataclass(frozen=True)
class _Zone:
    """A part of a field that is limed at one rate: the mean of its samples."""

    name: str
    share: float  # of the field
    t_ha: float
    limes: frozenset[tuple[str, str]]  # name and quality of what the rate is tons of
    reasons: tuple[Reason, ...]


def lime_needs(
    fields: pd.DataFrame, target_ph: pd.Series, standing: pd.DataFrame, rules: LimeRules, on: date
) -> pd.DataFrame:
    """Return lime_t_ha, lime_t (whole field), lime_applications, lime_product, lime (reasons) and lime_sample_date.

    lime_t_ha is of the product that is spread where known, else of the lime that the rate is for: 0 none needed, NaN
    unknown. lime_product names that lime ("" unsaid); lime_applications is 0 without a rate; lime_sample_date is that
    of the oldest sample. `fields` has grass, area_ha and growth_end_date, `standing` the samples that stand for each
    field today (kind "lime"), with weight_share; a field without one has no rate and no reasons. Raises InputError
    where a method's formula fails.
    """
    samples = standing.assign(
        target_ph=standing["field_id"].map(target_ph).astype(float),
        grass=standing["field_id"].map(fields["grass"]).fillna(""),
        spread_date=standing["field_id"].map(fields["growth_end_date"]).fillna(pd.Timestamp(on)),
    )
    samples = samples[samples["field_id"].isin(fields.index)]
    rated = samples[["field_id", "zone", "weight_share"]].join(sample_rates(samples, rules, on))
    found = {
        field_id: _need(_zones(rows), rules)
        for field_id, rows in _grouped(rated.itertuples(), "field_id").items()
    }
    named_ha = _named_land_ha(samples, fields["area_ha"])
    none = (math.nan, 0, "", ())
    needs = pd.DataFrame(
        [found.get(field_id, none) for field_id in fields.index], columns=list(COLUMNS), index=fields.index
    ).astype({"lime_t_ha": float, "lime_applications": int, "lime_product": object, "lime": object})
    return needs.assign(
        lime_t=needs["lime_t_ha"] * named_ha.clip(upper=fields["area_ha"]),
        lime=_with_land(needs, named_ha, fields["area_ha"]),
        lime_sample_date=samples.groupby("field_id")["sample_date"].min().reindex(fields.index),
    )


def _with_land(needs: pd.DataFrame, named_ha: pd.Series, area_ha: pd.Series) -> pd.Series:
    """Return the lime reasons with a word where zones name clearly less or more land than the field has."""
    limed = needs["lime_t_ha"] > 0
    less, more = limed & (named_ha < area_ha), limed & (named_ha > area_ha)
    code = pd.Series("", index=needs.index, dtype=object).mask(less, "lime_zone_land")
    code = code.mask(more, "lime_zones_over")
    told = [
        (*why, reason(word, zones_ha=zones, area_ha=area)) if word else why
        for why, word, zones, area in zip(needs["lime"], code, named_ha, area_ha, strict=True)
    ]
    return pd.Series(told, index=needs.index, dtype=object)


def _named_land_ha(samples: pd.DataFrame, area_ha: pd.Series) -> pd.Series:
    """Return the land that each field's samples name: that of its zones where it is clearly less or more than all."""
    zones = samples.drop_duplicates(["field_id", "zone"])
    sums = zones["zone_area_ha"].groupby(zones["field_id"]).sum(min_count=1)
    whole = zones["zone_area_ha"].notna().groupby(zones["field_id"]).all()
    named = sums.where(whole).reindex(area_ha.index)
    return area_ha.mask((named - area_ha).abs() > SAME_LAND_SHARE * area_ha, named)


def _grouped(rows: Iterable[Any], column: str) -> dict[str, list[Any]]:
    groups: dict[str, list[Any]] = {}
    for row in rows:
        groups.setdefault(str(getattr(row, column)), []).append(row)
    return groups


def _zones(samples: list[Any]) -> list[_Zone]:
    """Return a field's zones, the largest first."""
    zones = [_zone(name, rows) for name, rows in _grouped(samples, "zone").items()]
    return sorted(zones, key=lambda zone: (-zone.share, zone.name))


def _zone(name: str, samples: list[Any]) -> _Zone:
    known = [row for row in samples if not math.isnan(row.lime_t_ha)]
    weight = sum(row.weight_share for row in known)
    t_ha = sum(row.weight_share * row.lime_t_ha for row in known) / weight if weight > 0 else math.nan
    return _Zone(
        name=name,
        share=sum(row.weight_share for row in samples),
        t_ha=t_ha,
        limes=frozenset((row.lime, f"{row.quality_share:.6g}") for row in known if row.lime_t_ha > 0),
        reasons=once(why for row in samples for why in row.reasons),
    )


def _need(zones: Sequence[_Zone], rules: LimeRules) -> tuple[float, int, str, tuple[Reason, ...]]:
    limes = {lime for zone in zones for lime in zone.limes}
    mixed = len(limes) > 1
    name = next(iter(limes))[0] if len(limes) == 1 else ""
    mean = sum(zone.share * zone.t_ha for zone in zones) / sum(zone.share for zone in zones)
    t_ha = math.nan if mixed else mean
    count = 0 if math.isnan(t_ha) else max(applications(zone.t_ha, rules.most_t_ha) for zone in zones)
    one_rate = all(math.isclose(zone.t_ha, zones[0].t_ha) for zone in zones) and not mixed
    why = _whys(zones) if one_rate or len(zones) == 1 else _zone_whys(zones, t_ha, mixed=mixed)
    mix = (reason("lime_mixed"),) if mixed else ()
    after = _spreading(t_ha, count, rules.most_t_ha, one_rate=one_rate)
    return t_ha, count, name, once((*why, *mix, *after))


def _whys(zones: Sequence[_Zone]) -> Iterator[Reason]:
    for zone in zones[:MOST_ZONES_TOLD]:
        yield from zone.reasons


def _zone_whys(zones: Sequence[_Zone], t_ha: float, *, mixed: bool) -> Iterator[Reason]:
    for zone in zones[:MOST_ZONES_TOLD]:
        said = {"zone": zone.name or "the rest", "zone_share": zone.share}
        if math.isnan(zone.t_ha):
            yield reason("lime_zone_unknown", **said)
        else:
            yield reason("lime_zone", lime_t_ha=zone.t_ha, **said)
        yield from zone.reasons
    if len(zones) > MOST_ZONES_TOLD:
        yield reason("lime_more_zones", more_zones=len(zones) - MOST_ZONES_TOLD)
    if math.isnan(t_ha) and not mixed:
        yield reason("lime_zones_part")
    elif not mixed:
        yield reason("lime_zones_mean", lime_t_ha=t_ha)


def _spreading(t_ha: float, count: int, most_t_ha: float, *, one_rate: bool) -> Iterator[Reason]:
    if count > 1 and one_rate:
        yield reason("lime_split", applications=count, each_t_ha=t_ha / count, most_t_ha=most_t_ha)
    elif count > 1:
        yield reason("lime_split_zones", applications=count, most_t_ha=most_t_ha)
    if count > 0:
        yield reason("lime_when")
