"""Two sheets sawn together: how far the saw is tilted so that what comes out of the one fits the other."""

import math


def sawing_angle(groove: float, thickness: float) -> float | None:
    """Tilt of the blade from upright, degrees: asin(groove / thickness). None where the groove is wider than that.

    `thickness` is that of the upper sheet, which the insert is sawn out of; it drops by as much into the lower one. Its
    edge then stands where the other side of the groove was: across the sheets a groove k wide is k / cos a, and the
    slope carries an edge sideways by t tan a over a thickness t. No gap is left where t tan a = k / cos a, so
    sin a = k / t.

    Source: derived here. Valid: groove and thickness above 0.

    >>> round(sawing_angle(0.35, 3.6), 2)
    5.58
    >>> sawing_angle(0.5, 0.4) is None
    True
    """
    share = groove / thickness
    return math.degrees(math.asin(share)) if share < 1.0 else None


def seam_of_tilt(groove: float, thickness: float, angle: float) -> float:
    """The gap on each side where two sheets are sawn at another angle (degrees); below 0 it does not go in.

    >>> round(seam_of_tilt(0.35, 3.6, 0.0), 3)
    0.35
    """
    tilt = math.radians(angle)
    return groove / math.cos(tilt) - thickness * math.tan(tilt)
