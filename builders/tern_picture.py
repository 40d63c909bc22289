"""Make examples/tern-lid/tern.jpg from tern.svg: the drawing as a maker would photograph it.

Painted on slate-blue paper, lit a little unevenly, with the noise of a small camera, saved as JPEG. Same drawing, same
picture, to the byte (with the same versions of the libraries).

    python builders/tern_picture.py
"""

import io
from pathlib import Path

import numpy as np
import resvg_py
from numpy.typing import NDArray
from PIL import Image

FOLDER = Path(__file__).resolve().parent.parent / "examples" / "tern-lid"
PAPER = "#71939e"
DRAWN = (186.0, 118.0)
"""Size of the drawing, mm."""
MARGIN = 16.0
"""Paper around it, mm."""
WIDTH = 1600
"""Of the picture, px."""
NOISE = 2.6
"""Standard deviation, of 255."""
LIGHT = 0.07
"""How much darker the far corner is than the near one."""
QUALITY = 75
SEED = 20_261_125


def main() -> None:
    """Write the picture and say how large it is."""
    pixels = photographed(painted((FOLDER / "tern.svg").read_text(encoding="utf-8")))
    Image.fromarray(pixels).save(FOLDER / "tern.jpg", quality=QUALITY, subsampling="4:2:0")
    size = (FOLDER / "tern.jpg").stat().st_size
    print(f"tern.jpg: {pixels.shape[1]} x {pixels.shape[0]} px, {size / 1000:.0f} kB")


def painted(drawing: str) -> NDArray[np.float64]:
    """The drawing on its paper, without any fault."""
    width, height = (side + 2 * MARGIN for side in DRAWN)
    frame = f'viewBox="{-MARGIN} {-MARGIN} {width} {height}"'
    head = f'width="186mm" height="118mm" viewBox="0 0 {DRAWN[0]:g} {DRAWN[1]:g}"'
    if head not in drawing:
        raise SystemExit("tern.svg no longer has the size that this builder knows")
    on_paper = drawing.replace(head, f'width="{WIDTH}" height="{round(WIDTH * height / width)}" {frame}')
    png = resvg_py.svg_to_bytes(svg_string=on_paper, background=PAPER, dpi=96)
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), np.float64)


def photographed(pixels: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Light that falls off towards one corner, and noise that is partly common to the three channels."""
    chance = np.random.default_rng(SEED)
    rows, columns = pixels.shape[:2]
    down, across = np.mgrid[0 : 1 : rows * 1j, 0 : 1 : columns * 1j]
    light = 1.0 - LIGHT * (0.6 * across + 0.4 * down**1.5)
    grain = chance.normal(0.0, NOISE, (rows, columns, 1)) + chance.normal(0.0, NOISE / 2, (rows, columns, 3))
    return np.clip(np.rint(pixels * light[..., None] + grain), 0, 255).astype(np.uint8)


if __name__ == "__main__":
    main()
