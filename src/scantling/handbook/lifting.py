"""Lifting: when to say "two people". A filter for a warning, never a limit; the employer's own assessment decides."""

from math import inf

from scantling.figures import Source, rule
from scantling.figures.units import Centimetres, Count, Kilograms, Ratio

NIOSH = Source("NIOSH 94-110 (rev. 2021), revised lifting equation")
ENDLESS = inf


@rule(NIOSH, falls="reach")
def horizontal_multiplier(reach: Centimetres, *, near: float = 25, far: float = 63) -> Ratio:
    """How far the load is held from the body; at most 1, nought beyond what anybody should reach."""
    return min(1, near / max(reach, near)) if reach <= far else 0


@rule(NIOSH)
def vertical_multiplier(
    height: Centimetres, *, knuckle: float = 75, slope: float = 0.003, highest: float = 175
) -> Ratio:
    """How far the hands start from knuckle height; nought above the reach of the hands."""
    return 1 - slope * max(height - knuckle, knuckle - height) if height <= highest else 0


@rule(NIOSH, falls="travel")
def distance_multiplier(
    travel: Centimetres, *, share: float = 0.82, rest: float = 4.5, least: float = 25, most: float = 175
) -> Ratio:
    """How far the load is lifted; nought beyond the reach of the hands."""
    return share + rest / max(travel, least) if travel <= most else 0


@rule(NIOSH, falls="angle")
def turning_multiplier(angle: Ratio, *, slope: float = 0.0032, most: float = 135) -> Ratio:
    """How far the body turns, in degrees; nought when it turns more than it should."""
    return 1 - slope * angle if angle <= most else 0


@rule(NIOSH, rises="horizontal vertical distance turning")
def weight_limit(
    horizontal: Ratio, vertical: Ratio, distance: Ratio, turning: Ratio, *, most: float = 23
) -> Kilograms:
    """Weight that nearly all healthy workers could lift so, with a good grip and seldom."""
    return most * horizontal * vertical * distance * turning


@rule(NIOSH, rises="weight", falls="limit")
def people_to_lift(weight: Kilograms, limit: Kilograms) -> Count:
    """People a lift wants: one within the limit, else two."""
    return 1 if weight <= limit else 2
