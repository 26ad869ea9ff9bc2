"""The sentences for what the season log says of a field: pests that were seen, and the stand record."""

from collections.abc import Mapping

LOG_SENTENCES: Mapping[str, str] = {
    "armyworm_seen": "Fall armyworm was seen here on {seen_date}: scout again. Treat only by the label and local "
    "extension advice.",
    "armyworm_near": "Fall armyworm was seen in {area} on {seen_date}: scout this field.",
    "stem_maggot_seen": "Stem maggot was seen here on {seen_date}: scout again. Treat only by the label and local "
    "extension advice.",
    "stem_maggot_near": "Stem maggot was seen in {area} on {seen_date}: scout this field.",
    "pest_peak": "July to September is their usual peak.",
    "regrowth_lost": "About {eaten_cm} of canopy was eaten: that regrowth is lost, so measure the height again.",
    "eaten_cut_early": "A stand that is being eaten is a case for cutting early, by {last_cut_date} at the latest.",
    "eaten_after_last_cut": "It is being eaten, but its last-cut date, {last_cut_date}, has passed: no early cut any "
    "more.",
    "cut_while_it_should_stand": "Cut on {cut_made_date}, after its last-cut date, {last_cut_date}, and before the "
    "killing freeze: it should have stood.",
    "cut_too_low": "Cut on {cut_made_date} to {stubble_cm} of stubble, under the {usual_stubble_cm} that its grass "
    "should keep in fall.",
    "two_short_freeze_cuts": "Freeze cuts of a short stand two years running, {first_made_date} and "
    "{second_made_date}.",
    "short_freeze_cut_last_year": "Last year, on {cut_date}, a short stand was cut at the freeze: not again this year.",
    "stand_cover_fell": "The stand covered {first_share} of the ground on {first_seen_date} and {second_share} on "
    "{second_seen_date}.",
    "soil_low_again": "{nutrient} was low on {first_sample_date} and again on {second_sample_date}.",
}
