"""The dry fit: what was read back from the emitted files, and what it says."""

from dataclasses import dataclass

from purfle.model.findings import Finding


@dataclass(frozen=True, slots=True)
class SeamReadBack:
    """The seam of one inlay, put together from files of one kind. Places: board frame.

    `kind`: "programs", "templates" or "passes" (by hand), "patterns"; "svg"; "dxf".

    `share_within`: share of the seam's length within `tolerances.SEAM_AS_CUT` of the drawn seam.
    `wide_places`: junctions, where it opens further; each (x, y, width).
    """

    inlay: str
    kind: str
    drawn: float
    narrowest: float
    narrowest_at: tuple[float, float]
    widest: float
    widest_at: tuple[float, float]
    share_within: float
    length: float
    wide_places: tuple[tuple[float, float, float], ...]
    interference_area: float


@dataclass(frozen=True, slots=True)
class ProgramReadBack:
    """One program as read: deepest place, metres cut, count of moves, uncut and gouged area against its outline."""

    file: str
    cutter: int
    deepest: float
    metres: float
    moves: int
    uncut_area: float
    gouged_area: float


@dataclass(frozen=True, slots=True)
class Proof:
    """`proven` only when every file was read, every part goes together and no finding says stop."""

    proven: bool
    seams: tuple[SeamReadBack, ...]
    programs: tuple[ProgramReadBack, ...]
    least_wood_left: float | None
    findings: tuple[Finding, ...]
