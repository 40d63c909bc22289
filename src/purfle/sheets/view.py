"""How a face of the board lies on the paper: its scale, its datum edges, and the scales to choose from."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.model.board import Board
from purfle.model.findings import Face
from purfle.sheets.rooms import Place, laid_on_paper

SCALES = (0.2, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0)
"""mm of wood to one mm of paper, from enlarged to small."""
Side = Literal["a", "far", "left", "right"]
"""Sides of the drawn board: along datum edge A, opposite to it, along datum edge B, opposite to it."""


def scale_words(scale: float) -> str:
    """'1 : 2.5', or '5 : 1' for an enlarged drawing."""
    return f"1 : {scale:g}" if scale >= 1 else f"{1 / scale:g} : 1"


@dataclass(frozen=True, slots=True)
class View:
    """A face of the board on the paper. `scale`: mm of wood to one of paper; `left`, `top`: where the board stands.

    Datum edge B is always on the left. The show face has datum edge A below, the underside has it above, as the board
    lies when it was turned over about A.
    """

    board: Board
    face: Face
    scale: float
    left: float = 0.0
    top: float = 0.0

    @property
    def wide(self) -> float:
        """Length of the board on the paper, across."""
        return self.board.length / self.scale

    @property
    def high(self) -> float:
        """Width of the board on the paper, up and down."""
        return self.board.width / self.scale

    def place(self, x: float, y: float) -> Place:
        """A point of the board frame on the paper."""
        from_top = y if self.face == "underside" else self.board.width - y
        return self.left + x / self.scale, self.top + from_top / self.scale

    def region(self, shape: BaseGeometry) -> BaseGeometry:
        """A region of the board frame on the paper."""
        return laid_on_paper(shape, self._places)

    def _places(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        from_top = xy[:, 1] if self.face == "underside" else self.board.width - xy[:, 1]
        return np.column_stack([self.left + xy[:, 0] / self.scale, self.top + from_top / self.scale])

    def beside(self, side: Side, along: float, off: float) -> Place:
        """A point beside the board, in mm of paper: `along` from the datum edge, `off` outwards from a side."""
        is_below = (side == "a") == (self.face == "show")
        up = -1.0 if self.face == "show" else 1.0
        datum = self.place(0.0, 0.0)
        if side == "a" or side == "far":
            return datum[0] + along, (self.top + self.high + off) if is_below else (self.top - off)
        x = self.left - off if side == "left" else self.left + self.wide + off
        return x, datum[1] + up * along
