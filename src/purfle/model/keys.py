"""What is known of a butterfly key beside its sizes: how it lies to the fibres, and to the next key of its crack."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyFigures:
    """One butterfly key: `length` and `depth` in mm, its depth as a share of the board, its waist as one of its length.

    `flare`: angle of its sides to its ends, degrees; `off_grain`: of its length to its own fibres, `across`: to those
    of the board, 0 to 90. `to_next`: how far the next key along the same crack is, mm, middle to middle; None if it is
    alone.
    """

    inlay: str
    number: int
    length: float
    depth: float
    depth_share: float
    waist_share: float
    flare: float
    off_grain: float
    across: float
    to_next: float | None
