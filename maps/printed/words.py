"""The words of a plan on paper, in English."""

from collections.abc import Mapping

from maps.paper.words import SHEET_WORDS

# Words in {braces} are filled in by the module that asks for them.
SOIL_PAPER: Mapping[str, str] = {
    **SHEET_WORDS,
    "file_title": "Soil of the fields: {region}",
    "title_ph": "Soil pH of the fields",
    "title_k": "Potassium (K) in the soil of the fields",
    "title_p": "Phosphorus (P) in the soil of the fields",
    "title_buy": "What to buy for the fields",
    "under_title": "{region}, {day}",
    "legend": "Fields and their land",
    "class_size": "{fields}, {area}",
    "one_field": "1 field",
    "fields": "{count} fields",
    "mapped": "mapped, sample first",
    "part": "sample this part first",
    "note": "~ with a dashed outline or a dot: a map says so, not a lab sample. A map sets no rate of lime or "
    "fertilizer.",
    "targets": "Target pH: {targets}.",
    "target": "{grass} {ph}",
    "caution": "Only a lab sample sets a rate; a mapped value says where to sample first. The laboratory and local "
    "extension advice go first.",
    "no_shapes": "No field has a shape to draw.",
    "source": "{what}: {origins}.",
    "origin": "{origin} ({fields})",
    "origin_date": "{origin} of {dates} ({fields})",
    "dates": "{first} to {last}",
    "rated": "Rated by {schemes}.",
    "source_ground": "Counties, towns, streams and roads: the region's own layers.",
    "continued": "{client}, continued",
}
