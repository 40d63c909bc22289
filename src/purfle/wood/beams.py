"""How far a board sags or its end goes down, as a beam of one section: lengths in mm, loads in N, stiffness in MPa.

Closed forms of a straight elastic beam with small bending. Shear, which counts in short thick boards, is left out.
Stiffness is that along the grain of a wood at 12 % moisture; across it a board is 15 to 20 times softer (from memory).
Years of load about double what is seen at first (Wood Handbook, FPL-GTR-190, ch. 5, creep).
"""


def second_moment(width: float, thickness: float) -> float:
    """Second moment of area of a rectangle (mm4), b h^3 / 12 (closed form)."""
    return width * thickness**3 / 12.0


def sag_even(load: float, span: float, stiffness: float, moment: float) -> float:
    """Sag (mm) in the middle under a load (N for each mm) spread evenly, ends on supports.

    Source: 5 w l^4 / (384 E I); Wood Handbook, FPL-GTR-190, ch. 9, Eq. (9-2) with Table 9-1.

    >>> round(sag_even(0.05, 600.0, 11600.0, second_moment(200.0, 18.0)), 5)
    0.07483
    """
    return 5.0 * load * span**4 / (384.0 * stiffness * moment)


def sag_middle(load: float, span: float, stiffness: float, moment: float) -> float:
    """Sag (mm) in the middle under a load (N) there, ends on supports.

    Source: P l^3 / (48 E I); Wood Handbook, FPL-GTR-190, ch. 9, Table 9-1.
    """
    return load * span**3 / (48.0 * stiffness * moment)


def drop_tip(load: float, length: float, stiffness: float, moment: float) -> float:
    """How far the free end goes down (mm) under a load (N) at it, the other end held fast.

    Source: P l^3 / (3 E I); Wood Handbook, FPL-GTR-190, ch. 9, Table 9-1.
    """
    return load * length**3 / (3.0 * stiffness * moment)


def drop_even(load: float, length: float, stiffness: float, moment: float) -> float:
    """How far the free end goes down (mm) under a load (N for each mm) spread evenly, the other end held fast.

    Source: w l^4 / (8 E I); Wood Handbook, FPL-GTR-190, ch. 9, Table 9-1.
    """
    return load * length**4 / (8.0 * stiffness * moment)


def sag_overhanging(load: float, sizes: tuple[float, float], stiffness: float, moment: float) -> tuple[float, float]:
    """Sag (mm) in the middle and at both ends of a board on two supports that it reaches beyond alike; + is down.

    `sizes`: whole length, and how far it reaches beyond each support; `load` (N for each mm) spread evenly.

    Source: derived by superposition, middle w l^2 (5 l^2 - 24 a^2) / (384 E I), ends w a (3 a^3 + 6 a^2 l - l^3) /
    (24 E I), l between the supports; both are equal at 0.22315 of the length.
    """
    length, beyond = sizes
    between = length - 2.0 * beyond
    middle = load * between**2 * (5.0 * between**2 - 24.0 * beyond**2) / 384.0
    ends = load * beyond * (3.0 * beyond**3 + 6.0 * beyond**2 * between - between**3) / 24.0
    return middle / (stiffness * moment), ends / (stiffness * moment)
