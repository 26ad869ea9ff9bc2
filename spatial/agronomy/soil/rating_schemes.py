"""The rating scheme that fits a soil sample, and its word for it: by its table of limits, or by an add-on's formula."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from spatial.addons import FAILS, add_on
from spatial.errors import InputError, Problem, Stopped
from spatial.names import plain
from spatial.soil import RATING_CLASSES
from spatial.values import RatingScheme

GROUP = "spatial.soil_ratings"
SLACK = 5e-4  # or 60 lb/ac turned to 30.000000001 mg/kg would cross its own limit
ALSO = {"m1": "mehlich1", "mehlichi": "mehlich1", "m3": "mehlich3", "mehlichiii": "mehlich3"}

Sample = Mapping[Any, Any]


@dataclass(frozen=True)
class Rated:
    """A scheme's word for a sample; `rank` puts words in order, those of two schemes by their class."""

    scheme: RatingScheme
    word: str

    @property
    def word_class(self) -> str:
        """Return what the word comes to: low, medium or enough."""
        return self.scheme.classes[self._place]

    @property
    def rank(self) -> tuple[int, int]:
        """Return the place of the word, the lowest first."""
        return RATING_CLASSES.index(self.word_class), self._place

    @property
    def _place(self) -> int:
        return self.scheme.ratings.index(self.word)


def rated_sample(nutrient: str, grass: str, sample: Sample, schemes: Sequence[RatingScheme]) -> Rated | None:
    """Return the word of the scheme that fits a sample, None where none does.

    A scheme's formula is called as formula(nutrient, sample): "p", "k" or "mg" and a mapping of all columns of
    SOIL_TESTS (inside units, NaN or "" where missing) to text or number; it returns one of the scheme's ratings.
    Raises InputError where it fails or returns anything else.
    """
    scheme = scheme_for(nutrient, grass, sample, schemes)
    if scheme is None:
        return None
    if scheme.formula:
        return Rated(scheme, _by_formula(scheme, nutrient, sample))
    return Rated(scheme, rating(scheme, nutrient, sample[value_column(scheme, nutrient)]))


def rating(scheme: RatingScheme, nutrient: str, value: float) -> str:
    """Return the scheme's word for a value [mg/kg, or the laboratory's index]; its limits are upper and inclusive."""
    over = sum(value > limit + SLACK for limit in scheme.limits_mg_kg[nutrient])
    return scheme.ratings[over]


def scheme_for(
    nutrient: str, grass: str, sample: Sample, schemes: Sequence[RatingScheme]
) -> RatingScheme | None:
    """Return the first scheme that rates the nutrient and fits a sample and the grass, or None."""
    group = plain(str(sample["soil_group"]))
    fitting = but_for_group(nutrient, grass, sample, schemes)
    return next((scheme for scheme in fitting if plain(scheme.soil_group) in ("", group)), None)


def but_for_group(
    nutrient: str, grass: str, sample: Sample, schemes: Sequence[RatingScheme]
) -> Iterator[RatingScheme]:
    """Give the schemes that fit a sample in extractant, unit and grass, whatever its soil group."""
    extractant = _extractant(str(sample["extractant"]))
    for scheme in schemes:
        rates = bool(scheme.formula) or nutrient in scheme.limits_mg_kg
        fits = extractant == _extractant(scheme.extractant) != "" and grass in (scheme.grasses or (grass,))
        if rates and fits and pd.notna(sample.get(value_column(scheme, nutrient))):
            yield scheme


def value_column(scheme: RatingScheme, nutrient: str) -> str:
    """Return the column of SOIL_TESTS that a scheme reads."""
    return f"{nutrient}_{'index' if scheme.unit == 'index' else 'mg_kg'}"


def _extractant(name: str) -> str:
    return ALSO.get(plain(name), plain(name))


def _by_formula(scheme: RatingScheme, nutrient: str, sample: Sample) -> str:
    formula = add_on(GROUP, scheme.formula, {})
    module = getattr(formula, "__module__", type(formula).__module__)
    try:
        word = formula(nutrient, dict(sample))
    except (InputError, Stopped):
        raise
    except FAILS as error:
        cause = f"of {module} failed on {nutrient} ({type(error).__name__}: {error})"
        raise InputError([Problem(GROUP, scheme.formula, cause, "Update or remove it")]) from error
    said = " ".join(word.lower().split()) if isinstance(word, str) else word
    if said not in scheme.ratings:
        cause = f"of {module} said {word!r} of {nutrient}, which is none of the scheme's ratings"
        raise InputError([Problem(GROUP, scheme.formula, cause, f"Known: {', '.join(scheme.ratings)}")])
    return str(said)
