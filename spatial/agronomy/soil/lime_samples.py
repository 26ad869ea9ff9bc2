"""The lime that each lab sample asks for: at the laboratory's own rate, by the method of its buffer, or not at all."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from spatial.agronomy.soil.lime_methods import method_rates
from spatial.agronomy.soil.lime_product import depth_rate, product_rate
from spatial.names import plain
from spatial.reasons import Reason, reason
from spatial.soil import OLD_SAMPLE_DAYS, LimeMethod, LimeRules

COARSE_DOUBT = "adams_evans"  # its factor of 1.5 may already allow for coarse limestone
INPUTS = ["ph", "buffer_ph", "target_ph"]


@dataclass(frozen=True)
class _Verdict:
    """What sets a sample's rate: "lab", "enough" (its pH), "method", or "" where nothing does, and why."""

    by: str
    why: tuple[Reason, ...] = ()
    method: LimeMethod | None = None


@dataclass(frozen=True)
class _Base:
    """The lime and the layer of soil that a rate is for; NaN where not known."""

    lime: str
    quality_share: float
    depth_cm: float
    depth_source: str = ""


def sample_rates(samples: pd.DataFrame, rules: LimeRules, on: date) -> pd.DataFrame:
    """Return lime_t_ha (0 none needed, NaN unknown), lime (what it is tons of, "" unsaid), quality_share and reasons.

    On the index of `samples`, which has the columns of SOIL_TESTS with grass, target_ph and
    spread_date (from when lime is spread). The rate is of the region's
    product where that and the lime of the rate are known, else of the lime that the rate is for. Raises InputError
    where a method's formula fails.
    """
    verdicts = [_verdict(row, rules, on) for row in samples.itertuples()]
    rates = _rates(samples, verdicts)
    labs = {plain(name): lab.lime_quality_share for name, lab in rules.laboratories.items()}
    found = [
        _told(row, verdict, rate, rules, labs)
        for row, verdict, rate in zip(samples.itertuples(), verdicts, rates, strict=True)
    ]
    columns = ["lime_t_ha", "lime", "quality_share", "reasons"]
    return pd.DataFrame(found, columns=columns, index=samples.index)


def _verdict(row: Any, rules: LimeRules, on: date) -> _Verdict:
    for day, code in ((pd.Timestamp(on), "lime_sample_old"), (row.spread_date, "lime_sample_soon_old")):
        if (day - row.sample_date).days > OLD_SAMPLE_DAYS["ph"]:
            return _Verdict("", (reason(code, sample_date=row.sample_date),))
    if pd.notna(row.lime_t_ha):
        return _Verdict("lab")
    if pd.isna(row.ph) or pd.isna(row.target_ph):
        return _Verdict("", (reason("lime_no_target"),))
    if row.ph >= row.target_ph:
        return _Verdict("enough", (reason("lime_none", ph=row.ph, target_ph=row.target_ph),))
    methods = [one for one in rules.methods if row.grass in (one.grasses or (row.grass,))]
    method = next((one for one in methods if plain(row.buffer) in map(plain, one.buffers)), None)
    fault = _fault(row, method, methods)
    if fault is not None:
        return _Verdict("", (fault, _ask(row)))
    return _Verdict("method", method=method)


def _fault(row: Any, method: LimeMethod | None, methods: Sequence[LimeMethod]) -> Reason | None:
    """Return why a low pH cannot become a rate by a method; None where it can."""
    if _is_salt_ph(row.ph_method):
        return reason("lime_ph_in_salt", ph_method=row.ph_method)
    if not plain(row.buffer):
        return reason("lime_no_buffer")
    if method is None:
        return reason("lime_buffer_unknown", buffer=row.buffer, known_buffers=_known(methods))
    return _buffer_fault(row, method)


def _buffer_fault(row: Any, method: LimeMethod) -> Reason | None:
    if pd.isna(row.buffer_ph):
        return reason("lime_no_buffer_ph", buffer=row.buffer)
    if not method.least_buffer_ph <= row.buffer_ph <= method.most_buffer_ph:
        return reason(
            "lime_buffer_ph_impossible",
            buffer=row.buffer,
            buffer_ph=row.buffer_ph,
            least_buffer_ph=method.least_buffer_ph,
            most_buffer_ph=method.most_buffer_ph,
        )
    if not (math.isnan(method.target_ph) or math.isclose(method.target_ph, row.target_ph)):
        return reason("lime_method_target", method=method.name, method_target_ph=method.target_ph)
    return None


def _is_salt_ph(ph_method: str) -> bool:
    """Tell whether a pH is of a salt solution, about 0.6 below that of water (SERA-IEG-6, fact sheet 3)."""
    words = plain(ph_method)
    return any(salt in words for salt in ("cacl", "kcl", "calciumchloride", "salt")) and "water" not in words


def _known(methods: Sequence[LimeMethod]) -> tuple[str, ...]:
    return tuple(sorted({method.buffers[0] for method in methods})) or ("none",)


def _ask(row: Any) -> Reason:
    return reason("lime_ask_rate", ph=row.ph, target_ph=row.target_ph)


def _rates(samples: pd.DataFrame, verdicts: Sequence[_Verdict]) -> list[float]:
    """Return the rates [t/ha] in the lime that each is for, NaN where nothing sets one."""
    by = np.array([verdict.by for verdict in verdicts], dtype=object)
    rates = np.where(by == "lab", samples["lime_t_ha"], np.where(by == "enough", 0.0, np.nan)).astype(float)
    methods = {verdict.method.method: verdict.method for verdict in verdicts if verdict.method is not None}
    for name, method in methods.items():
        its = np.array([one.method is not None and one.method.method == name for one in verdicts])
        ph, buffer_ph, target_ph = (samples.loc[its, column].to_numpy(dtype=float) for column in INPUTS)
        rates[its] = method_rates(method, ph, buffer_ph, target_ph)
    return [float(rate) for rate in rates]


def _told(
    row: Any, verdict: _Verdict, rate: float, rules: LimeRules, labs: Mapping[str, float]
) -> tuple[float, str, float, tuple[Reason, ...]]:
    """Return a sample's rate as it is to be spread [t/ha], its lime, the lime's quality, and each step to it."""
    if verdict.by in ("", "enough"):
        return rate, "", math.nan, verdict.why
    if math.isnan(rate) or rate == 0.0:
        why = _none_reasons(row, verdict.method, rate)
        return rate, "", math.nan, tuple(why)
    base = _base(row, verdict.method, labs)
    how = tuple(_rate_reasons(row, verdict.method, rate))
    deep, deep_why = _to_depth(rate, base, rules.depth_cm)
    spread, lime, quality, lime_why = _to_product(deep, base, rules)
    coarse = (
        verdict.method is not None and verdict.method.formula == COARSE_DOUBT and rules.product is not None
    )
    doubt = (reason("lime_coarse_doubt"),) if coarse else ()
    return spread, lime, quality, (*how, *deep_why, lime_why, *doubt)


def _none_reasons(row: Any, method: LimeMethod | None, rate: float) -> Iterator[Reason]:
    if method is None:
        yield reason("lime_lab_none", lab=row.lab or "the laboratory", sample_date=row.sample_date)
    elif math.isnan(rate):
        yield reason("lime_method_out", method=method.name, ph=row.ph, target_ph=row.target_ph)
        yield _ask(row)
    elif row.ph >= method.only_below_ph:
        yield reason("lime_method_none", method=method.name, only_below_ph=method.only_below_ph)
    else:
        said = {"sample_date": row.sample_date, "least_lime_t_ha": method.least_t_ha}
        yield reason("lime_too_little", method=method.name, **said)


def _rate_reasons(row: Any, method: LimeMethod | None, rate: float) -> Iterator[Reason]:
    if method is None:
        lab = row.lab or "the laboratory"
        yield reason("lime_lab_rate", lab=lab, lime_t_ha=rate, sample_date=row.sample_date)
        if row.ph >= row.target_ph:
            yield reason("lime_lab_over_target", ph=row.ph, target_ph=row.target_ph)
        yield reason("lime_recent")
        return
    yield reason(
        "lime_method",
        method=method.name,
        source=method.source,
        lime=method.lime,
        lime_t_ha=rate,
        **{name: getattr(row, name) for name in (*INPUTS, "sample_date")},
    )
    if not plain(row.ph_method):
        yield reason("lime_ph_method_unsaid")
    yield reason("lime_recent")


def _base(row: Any, method: LimeMethod | None, labs: Mapping[str, float]) -> _Base:
    """Return what a rate is for; a laboratory's word on its lime stands in where the method has none."""
    of_lab = labs.get(plain(row.lab), math.nan)
    if method is None:
        return _Base("", of_lab, math.nan)
    quality = of_lab if math.isnan(method.quality_share) else method.quality_share
    return _Base(method.lime, quality, method.depth_cm, method.depth_source)


def _to_depth(rate: float, base: _Base, depth_cm: float) -> tuple[float, tuple[Reason, ...]]:
    if math.isnan(base.depth_cm):
        unknown = () if math.isnan(depth_cm) else (reason("lime_depth_unknown", depth_cm=depth_cm),)
        return rate, unknown
    said = {"method_depth_cm": base.depth_cm, "depth_source": base.depth_source or "no source"}
    if math.isnan(depth_cm):
        return rate, (reason("lime_depth", **said),)
    deep = depth_rate(rate, base.depth_cm, depth_cm)
    return deep, (reason("lime_other_depth", depth_cm=depth_cm, lime_t_ha=deep, **said),)


def _to_product(rate: float, base: _Base, rules: LimeRules) -> tuple[float, str, float, Reason]:
    if math.isnan(base.quality_share):
        code = "lime_base_unknown" if base.lime else "lime_lab_base_unknown"
        return rate, base.lime, math.nan, reason(code)
    if rules.product is None:
        told = reason("lime_base", base_rnv_share=base.quality_share)
        return rate, base.lime, base.quality_share, told
    product = rules.product
    spread = product_rate(rate, base.quality_share, product.quality_share)
    told = reason(
        "lime_product",
        product=product.name,
        rnv_share=product.quality_share,
        base_rnv_share=base.quality_share,
        lime_t_ha=spread,
    )
    return spread, product.name, product.quality_share, told
