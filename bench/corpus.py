"""Open sets of drawings for the benches, fetched from the npm registry when a bench runs and never kept here.

    python bench/corpus.py            what each set is, and how many drawings it has

Needs the `npm` command. A set is fetched once into the user's cache folder (or into $PURFLE_CORPUS), as it was
published, and read from there. Versions are pinned, so that two runs measure the same drawings.
"""

import hashlib
import json
import os
import subprocess
import sys
import tarfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class DrawingSet:
    """One published set: its package, where the drawings lie in it, what they are like, and their licence."""

    package: str
    folder: str
    kind: str
    licence: str


SETS = {
    "colour": DrawingSet("openmoji@17.0.0", "package/color/svg", "colour drawings with outlines", "CC BY-SA 4.0"),
    "flags": DrawingSet("flag-icons@7.5.0", "package/flags/4x3", "flags with fine stripes and arms", "MIT"),
    "lines": DrawingSet("lucide-static@1.62.0", "package/icons", "line drawings, strokes only", "ISC"),
    "flat": DrawingSet(
        "@twemoji/svg@15.0.0", "package", "flat colour drawings, no outlines", "MIT, pictures CC BY 4.0"
    ),
    "figures": DrawingSet("@iconify-json/game-icons@1.2.4", "package/icons.json", "silhouettes, ornate", "CC BY 3.0"),
}


def drawings(name: str) -> list[tuple[str, bytes]]:
    """Every drawing of a set as (name, SVG bytes), by name."""
    chosen = SETS[name]
    with tarfile.open(_fetched(chosen.package)) as packed:
        if chosen.folder.endswith(".json"):
            return _from_json(json.load(packed.extractfile(chosen.folder)))
        members = [m for m in packed if m.name.endswith(".svg") and str(Path(m.name).parent) == chosen.folder]
        return sorted((Path(m.name).stem, packed.extractfile(m).read()) for m in members)


def sample(name: str, count: int | None) -> list[tuple[str, bytes]]:
    """`count` drawings of a set, scattered over it but the same ones each time; all of them if None.

    In that order, too: a bench that is stopped has measured a fair sample.
    """
    return sorted(drawings(name), key=lambda one: hashlib.sha256(one[0].encode()).digest())[:count]


def _from_json(icons: dict) -> list[tuple[str, bytes]]:
    return sorted(_bodies(icons))


def _bodies(icons: dict) -> Iterator[tuple[str, bytes]]:
    for name, icon in icons["icons"].items():
        width, height = icon.get("width", icons.get("width", 16)), icon.get("height", icons.get("height", 16))
        head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
        yield name, f"{head}{icon['body']}</svg>".encode()


def _fetched(package: str) -> Path:
    cache = Path(os.environ.get("PURFLE_CORPUS", Path.home() / ".cache" / "purfle-corpus"))
    cache.mkdir(parents=True, exist_ok=True)
    name, version = package.rsplit("@", 1)
    packed = cache / f"{name.removeprefix('@').replace('/', '-')}-{version}.tgz"
    if not packed.exists():
        try:
            subprocess.run(["npm", "pack", "--silent", package], cwd=cache, check=True, stdout=subprocess.DEVNULL)
        except (OSError, subprocess.CalledProcessError) as refusal:
            sys.exit(f"{package} could not be fetched: {refusal}. Install npm and connect to the network.")
    return packed


if __name__ == "__main__":
    for name, one in SETS.items():
        print(f"{name:8} {len(drawings(name)):5} drawings  {one.package:32} {one.kind} ({one.licence})")
