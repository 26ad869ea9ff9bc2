"""The sentences about soil, lime and nutrients."""

from collections.abc import Mapping

SOIL_SENTENCES: Mapping[str, str] = {
    # lab tests and ratings
    "ph_low": "pH {ph} ({origin}, {sample_date}) is below its target, {target_ph}.",
    "ph_very_low": "pH {ph} ({origin}, {sample_date}) is far below its target, {target_ph}.",
    "ph_high": "pH {ph} ({origin}, {sample_date}) is high: watch iron and zinc.",
    "sample_soil": "No soil test and no soil layer here: sample this field.",
    "soil_test_old": "The sample of {sample_date} is old for {nutrients}: sample again.",
    "p_low": "P is {rating} ({scheme}, {sample_date}): ask the laboratory for its rate of P2O5.",
    "p_medium": "P is {rating} ({scheme}, {sample_date}): ask the laboratory for its rate of P2O5.",
    "k_low": "K is {rating} ({scheme}, {sample_date}).",
    "k_medium": "K is {rating} ({scheme}, {sample_date}).",
    "mg_low": "Mg is {rating} ({scheme}, {sample_date}): ask the laboratory for its rate of Mg.",
    "mg_low_dolomite": "Mg is {rating} ({scheme}, {sample_date}): the lime is to be dolomitic (UGA crop sheet 037).",
    "mg_low_no_lime": "Mg is {rating} ({scheme}, {sample_date}) and no lime is due: {mg_kg_ha} of Mg, by the same sheet.",
    "nutrient_was": "{nutrient} was {rating} on {sample_date} ({scheme}).",
    "no_rating_scheme": "No rating scheme for {extractant} in this unit: P, K and Mg are not rated. Ask the laboratory for its own rating.",
    "no_scheme_for_grass": "The rating scheme for {extractant} is not for this grass: P, K and Mg are not rated. Ask the laboratory for its own rating.",
    "no_soil_group": "The sample by {extractant} names no soil group that the scheme knows ({soil_groups}): P, K and Mg are not rated.",
    "nutrient_unrated": "No rating scheme rates {nutrient} by {extractant} in this unit on this grass.",
    "zone_low": "{nutrient} is {rating} in zone {zone}.",
    "sample_depth": "The sample of {sample_date} was taken to {depth_cm}; ratings and lime rates are for the top 6 to 8 inches (15 to 20 cm): ask the laboratory whether they hold.",
    "sample_nutrient": "A map says that {nutrient} is {rating} ({scheme}) on {cover_share} of the field: sample it; a map sets no rate.",
    # soil layers and ground
    "sample_ph": "The {origin} maps pH {mapped_ph} on {cover_share} of the field; {low_share} of that is below {target_ph}. Sample this field for pH, P and K: a map sets no lime rate.",
    "no_lab_sample": "No lab sample here: pH, P and K are not known. The {origin} maps pH {mapped_ph}, and knows nothing of lime that was spread. Sample this field.",
    "no_pk_test": "The lab samples say nothing of K here: have it tested.",
    "ground_wet": "By the soil survey {wet_share} of the field is {wet_from} or wetter: mow it slower, mow and spread only when it bears the machine, and do not graze it in winter.",
    "ground_steep": "By the soil survey {steep_share} of the field usually slopes {steep_slope_share} or more: tractors and spreader trucks can roll over there. Rollover bar up, belt on, turn wide, stay off when it is wet, and ask the spreader before you order lime.",
    # lime
    "lime_none": "pH {ph} is at or above {target_ph}: no lime.",
    "lime_sample_old": "The pH sample of {sample_date} is older than three years and sets no lime rate: sample first.",
    "lime_sample_soon_old": "The pH sample of {sample_date} will be three years old before lime is spread: sample now, and buy by the new rate.",
    "lime_no_target": "No target pH is known for this grass, so no lime rate is worked out.",
    "lime_ask_rate": "pH {ph} is below {target_ph}: ask the laboratory for its lime rate.",
    "lime_ph_in_salt": "The pH was measured in a salt solution ({ph_method}) and not brought to water, so no lime is "
    "worked out from it.",
    "lime_ph_method_unsaid": "How the pH was measured is not said; it is taken as pH in water.",
    "lime_no_buffer": "The report names no buffer, and lime is not worked out from the pH alone.",
    "lime_buffer_unknown": "The buffer {buffer} is not one that lime is worked out from here; known: {known_buffers}.",
    "lime_no_buffer_ph": "The report gives no buffer pH ({buffer}).",
    "lime_buffer_ph_impossible": "A buffer pH of {buffer_ph} cannot be in the buffer {buffer}, which reads "
    "{least_buffer_ph} to {most_buffer_ph}: check the report.",
    "lime_method_target": "The {method} is for a target of pH {method_target_ph} only.",
    "lime_method_out": "The {method} does not reach from pH {ph} to {target_ph}.",
    "lime_method_none": "The {method} asks for no lime from pH {only_below_ph} up.",
    "lime_too_little": "By the {method} (sample of {sample_date}) less than {least_lime_t_ha} of lime is needed: none now.",
    "lime_lab_rate": "{lab} asks for {lime_t_ha} of lime (sample of {sample_date}).",
    "lime_lab_none": "{lab} asks for no lime (sample of {sample_date}).",
    "lime_lab_over_target": "pH {ph} is not below {target_ph} here: the laboratory limes to a target of its own.",
    "lime_method": "From pH {ph}, buffer pH {buffer_ph} (sample of {sample_date}), to pH {target_ph}: {lime_t_ha} of "
    "{lime}, by the {method} ({source}).",
    "lime_recent": "If lime was spread after that sample was taken, do not use this rate: sample again.",
    "lime_depth": "The rate is for {method_depth_cm} of soil ({depth_source}).",
    "lime_other_depth": "The method is for {method_depth_cm} of soil ({depth_source}); for {depth_cm} it is "
    "{lime_t_ha}.",
    "lime_depth_unknown": "How deep a layer the rate is for is not known, so it was not changed to {depth_cm}.",
    "lime_product": "That is {lime_t_ha} of {product} (RNV {rnv_share}), if the rate is for lime of RNV {base_rnv_share}: check that with the laboratory.",
    "lime_base": "The rate is for lime of RNV {base_rnv_share}: for another, multiply by {base_rnv_share} and divide "
    "by its RNV.",
    "lime_base_unknown": "The RNV of that lime is not said: ask the dealer how much of your product equals it.",
    "lime_lab_base_unknown": "What RNV the laboratory's lime has is not said: ask it before you change the rate for "
    "yours.",
    "lime_zone": "Zone {zone}, {zone_share} of the field: {lime_t_ha}.",
    "lime_zone_unknown": "Zone {zone}, {zone_share} of the field: no rate.",
    "lime_more_zones": "{more_zones} more zones are not told here.",
    "lime_mixed": "The rates of the samples are in different limes, so they are not added up for the field.",
    "lime_zones_part": "Without a rate for every zone there is none for the whole field.",
    "lime_zones_mean": "That is {lime_t_ha} on average: spread each zone at its own rate.",
    "lime_split": "Spread it in {applications} equal parts of {each_t_ha}, one each fall: at most {most_t_ha} at once on sod (common practice, no source).",
    "lime_split_zones": "Spread it in {applications} parts, one each fall, each zone in equal parts: at most {most_t_ha} at once on sod (common practice, no source).",
    "lime_coarse_doubt": "Whether that method already allows for coarse lime is not known here; if it does, this asks for too much. The laboratory's own rate goes first.",
    "lime_zone_land": "The samples name zones of {zones_ha} in all, and the field has {area_ha}: the tons are for the land sampled. Sample the rest.",
    "lime_zones_over": "The samples name zones of {zones_ha} in all, and the field has {area_ha}: check the report. Each zone counts by its share, and the tons are for the field.",
    "lime_when": "Lime takes 3 to 12 months to work (Univ. of Tennessee), more slowly on sod, where it is not mixed in: spread it in fall or winter for next season.",
    # nutrients and what to buy
    "hay_took_weighed": "The hay weighed this season, {hay_range_t_ha}, took about {amounts_kg_ha}. That is what hay takes, not a rate to spread.",
    "hay_took_cuts": "{known_cuts} this season gave {hay_range_t_ha} of hay by an estimate, and took about {amounts_kg_ha}. Cuts that are not recorded are not counted. That is what hay takes, not a rate to spread.",
    "hay_would_take": "No hay of this season is recorded. The next cut may give {hay_range_t_ha} and would take about {amounts_kg_ha}. That is what hay takes, not a rate to spread.",
    "hay_not_all_weighed": "{known_cuts}, but hay was weighed on {days} only: what was not weighed is not "
    "counted.",
    "hay_too_heavy": "The hay recorded is over {most_hay_t_ha}, more than a season gives: check it in the season log (tons, not pounds or bales).",
    "removal_not_published": "What hay of {grass} takes is not known here, so no amount is said.",
    "k2o_lab_rate": "The laboratory's rate for a year is {k2o_kg_ha} of K2O (sample of {sample_date}), less what was spread since. Split it as the laboratory says: UGA crop sheet 037 gives bermudagrass half in spring and half after the second or third cut.",
    "k2o_lab_none": "The laboratory asks for no K2O (sample of {sample_date}): its word goes first.",
    "k2o_replace_least": "K is {k_class} and no laboratory rate is given: at the least, replace what the hay takes, "
    "and ask the laboratory for its rate.",
    "k2o_ask_rate": "K is {k_class} and no laboratory rate is given: ask the laboratory for its rate.",
    "buy_lime": "{product} at {lime_t_ha}, {rate_from} of {sample_date}. If lime was spread since, sample again instead.{only_dolomitic}",
    "buy_lime_split": "{product} for the first of {lime_applications} parts, one each fall; in all it is {lime_t_ha}, {rate_from} of {sample_date}. If lime was spread since, sample again instead.{only_dolomitic}",
    "buy_lime_zones": "{product} for the first part of its zones, each at its own rate as the field's sheet says; in all it is {lime_t_ha} on average, {rate_from} of {sample_date}. If lime was spread since, sample again instead.{only_dolomitic}",
    "buy_k2o_rate": "At most {k2o_kg_ha} of K2O for the year, by the laboratory (sample of {sample_date}), in halves; take off what was spread since.",
    "buy_k2o_replace": "K is {k_class} ({scheme}, sample of {sample_date}): {k2o_range_kg_ha} of K2O replaces what the recorded "
    "hay took; ask the laboratory for its rate.",
    "buy_k2o_for_next": "K is {k_class} ({scheme}, sample of {sample_date}): {k2o_range_kg_ha} of K2O replaces what the next cut "
    "would take; ask the laboratory for its rate.",
}
