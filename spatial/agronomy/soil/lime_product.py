"""From the lime that a rate is for to the lime that is spread: its quality, the depth, and several applications."""

import math

# Slack of a share of an application, so that a rate of exactly two is not three.
SLACK = 1e-9


def product_rate(rate: float, base_share: float, product_share: float) -> float:
    """Return a rate in lime of quality `base_share` as a rate in lime of `product_share`, in the rate's unit.

    Oklahoma State Univ., liming of switchgrass: tons of lime = tons ECCE / ECCE.
    """
    return rate * base_share / product_share


def depth_rate(rate: float, method_depth_cm: float, depth_cm: float) -> float:
    """Return a rate for `method_depth_cm` of soil as one for `depth_cm`, in the rate's unit."""
    return rate * depth_cm / method_depth_cm


def applications(rate_t_ha: float, most_t_ha: float) -> int:
    """Return in how many equal applications a rate is spread, none over `most_t_ha` (NaN: no most); 0 of no lime."""
    if not rate_t_ha > 0:
        return 0
    return 1 if math.isnan(most_t_ha) else math.ceil(rate_t_ha / most_t_ha - SLACK)
