"""The codes of the reasons about soil, lime and nutrients, each with the values it carries."""

SOIL_CODES: dict[str, tuple[str, ...]] = {
    # lab tests and ratings
    "ph_low": ("ph", "target_ph", "origin", "sample_date"),
    "ph_very_low": ("ph", "target_ph", "origin", "sample_date"),
    "ph_high": ("ph", "origin", "sample_date"),
    "sample_soil": (),
    "soil_test_old": ("sample_date", "nutrient"),
    "p_low": ("rating", "scheme", "sample_date"),
    "p_medium": ("rating", "scheme", "sample_date"),
    "k_low": ("rating", "scheme", "sample_date"),
    "k_medium": ("rating", "scheme", "sample_date"),
    "mg_low": ("rating", "scheme", "sample_date"),
    "mg_medium": ("rating", "scheme", "sample_date"),
    "no_rating_scheme": ("extractant", "soil_group"),
    # soil layers and ground
    "sample_ph": ("ph", "target_ph", "cover_share"),
    # lime
    # nutrients and what to buy
}
