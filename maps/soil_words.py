"""The sentences about soil, lime and nutrients."""

from collections.abc import Mapping

SOIL_SENTENCES: Mapping[str, str] = {
    # lab tests and ratings
    "ph_low": "pH {ph} ({origin}, {sample_date}) is below {target_ph}: lime at the laboratory's rate.",
    "ph_very_low": "pH {ph} ({origin}, {sample_date}) is far below {target_ph}: lime first, at the laboratory's rate.",
    "ph_high": "pH {ph} ({origin}, {sample_date}) is high: watch iron and zinc, and do not lime.",
    "sample_soil": "No soil test and no soil layer here: sample this field.",
    "soil_test_old": "The {nutrient} sample of {sample_date} is old: sample again.",
    "p_low": "P is {rating} ({scheme}, {sample_date}).",
    "p_medium": "P is {rating} ({scheme}, {sample_date}).",
    "k_low": "K is {rating} ({scheme}, {sample_date}).",
    "k_medium": "K is {rating} ({scheme}, {sample_date}).",
    "mg_low": "Mg is {rating} ({scheme}, {sample_date}).",
    "mg_medium": "Mg is {rating} ({scheme}, {sample_date}).",
    "no_rating_scheme": "No rating scheme for {extractant} {soil_group} on this grass: P, K and Mg are not rated.",
    # soil layers and ground
    "sample_ph": "The soil survey says pH {ph} for {cover_share} of the field, below {target_ph}: sample this field; a map "
    "sets no lime rate.",
    # lime
    # nutrients and what to buy
}
