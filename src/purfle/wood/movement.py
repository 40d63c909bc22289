"""Moisture of wood in a climate, and how much a width changes with it."""

from purfle.errors import PurfleError

FIBRE_SATURATION = 30.0
"""Moisture (%) above which wood does not swell further. Source: Wood Handbook, FPL-GTR-190, ch. 13."""

SORPTION = (
    (349.0, 1.29, 0.0135),
    (0.805, 0.000736, -0.00000273),
    (6.27, -0.00938, -0.000303),
    (1.91, 0.0407, -0.000293),
)
"""W, K, K1, K2 of Eq. (4-5) as a + b T + c T^2, T in degrees Celsius. Source: Wood Handbook, FPL-GTR-282, ch. 4."""


def moisture_content(temperature: float, humidity: float) -> float:
    """Moisture (%) that wood settles at in air of a temperature (degrees Celsius) and relative humidity (%).

    Source: Wood Handbook, FPL-GTR-282 (2021), ch. 4, Eq. (4-5).
    Valid: -1 to 132 degrees Celsius, 0 to 98 %; steady climate, wood that has had time to settle.

    >>> round(moisture_content(20.0, 50.0), 2)
    9.27
    """
    _within(temperature, -1.2, 132.3, "temperature in degrees Celsius")
    _within(humidity, 0.0, 98.0, "relative humidity in %")
    t, h = temperature, humidity / 100
    w, k, k1, k2 = (a + b * t + c * t**2 for a, b, c in SORPTION)
    kh = k * h
    dissolved = kh / (1 - kh)
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (dissolved + bound)


def movement_small(width: float, coefficient: float, moisture: tuple[float, float]) -> float:
    """Change (mm) of a width when moisture (%) goes from the first to the second figure; + is wider.

    `coefficient`: `Species.change_tangential` for flat-sawn wood, `change_radial` for quarter-sawn.
    Source: Wood Handbook, FPL-GTR-190, ch. 13, Eq. (13-2). Valid: both moistures from 6 to 14 %.

    >>> round(movement_small(232.0, 0.00245, (8.0, 11.0)), 1)
    1.7
    """
    for one in moisture:
        _within(one, 6.0, 14.0, "moisture in %")
    return width * coefficient * (moisture[1] - moisture[0])


def movement_wide(width: float, shrinkage: float, moisture: tuple[float, float]) -> float:
    """Change (mm) of a width over a wide change of moisture; `shrinkage` in %, green to oven-dry.

    Source: Wood Handbook, FPL-GTR-190, ch. 13, Eq. (13-3), its form from memory. Valid: both moistures 0 to 30 %.

    >>> round(movement_wide(300.0, 7.8, (30.0, 8.0)), 2)
    -17.16
    """
    for one in moisture:
        _within(one, 0.0, FIBRE_SATURATION, "moisture in %")
    _within(shrinkage, 0.01, 40.0, "shrinkage in %")
    before, after = moisture
    return width * (after - before) / (FIBRE_SATURATION * 100 / shrinkage - FIBRE_SATURATION + before)


def shrinkage_at(shrinkage: float, moisture: float) -> float:
    """Shrinkage (%) from green down to a moisture (%), of the `shrinkage` down to oven-dry.

    Source: Wood Handbook, FPL-GTR-190, ch. 4 (from memory). Valid: moisture 0 to 30 %.

    >>> round(shrinkage_at(7.8, 6.0), 2)
    6.24
    """
    _within(moisture, 0.0, FIBRE_SATURATION, "moisture in %")
    return shrinkage * (FIBRE_SATURATION - moisture) / FIBRE_SATURATION


def derived_coefficient(shrinkage: float) -> float:
    """Coefficient of change for a wood that has no printed one, from its shrinkage (%), green to oven-dry.

    Source: derived from Eq. (13-3) for 1 % at 10 % moisture; it reproduces 37 of the 43 tangential rows held
    here of Table 13-5, and the rest are group rows or printed so.
    Valid: moistures from 6 to 14 %.

    >>> round(derived_coefficient(7.4), 5)
    0.00259
    """
    _within(shrinkage, 0.01, 40.0, "shrinkage in %")
    return shrinkage / (3000 - 20 * shrinkage)


def seam_change(width: float, insert: float, ground: float, moisture_change: float) -> float:
    """Change (mm) at each of the two seams beside an insert; + is overlap (it pushes), - is a gap (it opens).

    `insert`, `ground`: coefficients of change along this axis (along the fibres about 0.00005, from memory).
    Source: derived here from Eq. (13-2). Valid: as `movement_small`.

    >>> round(seam_change(40.0, 0.00212, 0.00353, 2.0), 4)
    -0.0564
    """
    return 0.5 * width * (insert - ground) * moisture_change


def _within(value: float, low: float, high: float, what: str) -> None:
    """Refuse what the formula was not made for; NaN fails both comparisons and is refused too."""
    if not low <= value <= high:
        raise PurfleError(
            f"{value:g} is outside what the formula is valid for", what, f"give a figure from {low:g} to {high:g}"
        )
