"""How long the dry fit takes, and how many damages to made folders it catches, with their places.

    python bench/proof.py [FOLDER ...] [--each 1] [--only WORD] [--folders WORD] [--json FILE]

Each FOLDER holds the files of a job that is proven (`purfle make`). Without one all of `damage_jobs.py` are made: small
jobs of every way of cutting in both unit systems, and the examples. Times are of one core's work, not of the clock on
the wall; `proof_share.py` sets them beside the making time. Of every kind of `damages.KINDS` up to `--each` instances
are made in every small folder at random (the same each run); of the examples, whose proof takes longer, one of every
third kind.
Caught is what is not proven any more; its place is named if a stop, or the refusal, says the file, set-up, part or
inlay. `spot`: how many of the caught also have a line number or coordinates told. Of kinds that may change no wood
those count that move a wall by 0.02 mm or a floor by 0.05 mm, by a reckoning apart from the proof (`wood_that_stays`).
Goals: all of at least 500 caught with their places, no alarm on untouched files, 20 m in 1 s or less.
"""

import argparse
import json
import random
import re
import statistics
import time
import zlib
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import damage_jobs
from damaged_folder import Damaged, Files, Folder, changes_wood
from damages import KINDS, MEASURED

from purfle.errors import ProgramError
from purfle.proof import dry_fit

THIRD = 3
"""Of the examples one of so many kinds."""
SPOT = re.compile(r"line \d|at -?\d|key ")
"""A line of a file, a place in mm, or a key of the card."""


def told(files: Files) -> list[str] | None:
    """What the dry fit has to say against files; None where it proves them."""
    try:
        proof = dry_fit(files)
    except ProgramError as refusal:
        return [f"{fault.what}; {fault.where}" for fault in refusal.faults]
    if proof.proven:
        return None
    return [f"{one.what}; {one.where}" for one in proof.findings if one.severity == "stop"]


def seconds(files: Files, rounds: int = 5) -> float:
    found = []
    for _ in range(rounds):
        begin = time.process_time()
        dry_fit(files)
        found.append(time.process_time() - begin)
    return statistics.median(found)


def times(folder: Folder) -> dict[str, object]:
    """How long the dry fit of a folder takes; and whether it has anything against untouched files."""
    proof = dry_fit(folder.files)
    metres, took = sum(p.metres for p in proof.programs), seconds(folder.files)
    return {
        "proven": proof.proven,
        "findings on untouched files": len(proof.findings),
        "metres": round(metres, 2),
        "moves": sum(p.moves for p in proof.programs),
        "cpu_s": round(took, 3),
        "cpu_s_for_20_m": round(took * 20 / metres, 3) if metres else None,
    }


def judge(folder: Folder, kind: str, damaged: Damaged, against: list[str] | None) -> str:
    """'caught', 'no place', 'missed', or 'no wood' where nothing that matters has changed."""
    if against is None:
        return "no wood" if kind in MEASURED and not changes_wood(folder, damaged) else "missed"
    named = any(name in words for words in against for name in damaged.named)
    return "caught" if named else "no place"


def instances(folder: Folder, kind: str, each: int) -> list[Damaged]:
    """Up to so many damages of a kind, no two alike."""
    if kind.startswith(("program", "tapered")) and not folder.programs:
        return []
    found: dict[int, Damaged] = {}
    for seed in range(4 * each):
        chance = random.Random(f"{folder.name} {kind} {seed}")
        damaged = KINDS[kind](folder, chance)
        if damaged is not None:
            key = zlib.crc32(b"".join(name.encode() + damaged.files[name] for name in sorted(damaged.files)))
            found.setdefault(key, damaged)
        if len(found) == each:
            break
    return list(found.values())


def folders(paths: list[Path], word: str) -> Iterator[Folder]:
    """What is to be damaged."""
    for path in paths:
        yield Folder(path.name, {one.name: one.read_bytes() for one in sorted(path.iterdir()) if one.is_file()})
    if not paths:
        for name, files in damage_jobs.folders(word):
            yield Folder(name, files)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="*")
    parser.add_argument("--each", type=int, default=1, help="instances of each kind in each folder")
    parser.add_argument("--only", default="", help="kinds with this in their name alone")
    parser.add_argument("--folders", dest="word", default="", help="made folders with this in their name alone")
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    rows: dict[str, object] = {}
    counts: dict[str, dict[str, int]] = {kind: defaultdict(int) for kind in KINDS if asked.only in kind}
    by_folder: dict[str, int] = defaultdict(int)
    for folder in folders(asked.folders, asked.word):
        rows[folder.name] = its = times(folder)
        print(f"{folder.name}: {its}", flush=True)
        for kind, count in counts.items():
            if folder.name in damage_jobs.EXAMPLES and zlib.crc32(f"{folder.name} {kind}".encode()) % THIRD:
                continue
            for damaged in instances(folder, kind, asked.each):
                against = told(damaged.files)
                outcome = judge(folder, kind, damaged, against)
                count[outcome] += 1
                by_folder[folder.name] += outcome != "no wood"
                count["spot"] += outcome == "caught" and any(map(SPOT.search, against or []))
                if outcome in ("missed", "no place"):
                    words = (against or ["proven"])[:2]
                    print(f"  {outcome}: {kind}, wanted one of {damaged.named[:4]}: {words}", flush=True)
    _tell(counts)
    print(f"by folder: {dict(by_folder)}; {time.process_time():.0f} s of the processor in all")
    if asked.json:
        told_of = {"folders": rows, "damages": counts, "by folder": by_folder}
        asked.json.write_text(json.dumps(told_of, indent=1) + "\n")


def _tell(counts: dict[str, dict[str, int]]) -> None:
    for kind, count in counts.items():
        tried = count["caught"] + count["no place"] + count["missed"]
        spot = f", spot {count['spot']}" if count["spot"] else ""
        passed = f", {count['no wood']} without change of wood" if count["no wood"] else ""
        print(f"{kind:52} {count['caught']} of {tried} caught with their place{spot}{passed}")
    total = {
        word: sum(count[word] for count in counts.values()) for word in ("caught", "no place", "missed", "no wood")
    }
    kinds = sum(1 for count in counts.values() if count["caught"] + count["no place"] + count["missed"])
    tried = total["caught"] + total["no place"] + total["missed"]
    print(f"{kinds} kinds, {tried} instances: {total}")


if __name__ == "__main__":
    main()
