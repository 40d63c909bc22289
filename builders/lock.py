"""Write requirements.lock and requirements-test.lock: every version that is installed, with the hashes of its files.

uv resolves for all systems and all Pythons from 3.11 on at once, so that one lock serves everyone (see
docs/decisions/locked-versions.md). Needs uv; run it after a change of the dependencies in pyproject.toml:

    python builders/lock.py
"""

import re
import subprocess
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FOR_ALL = ["--universal", "--python-version", "3.11", "--generate-hashes"]
PLAIN = ["--no-emit-index-url", "--no-emit-find-links", "--no-annotate", "--no-header", "--quiet"]
HEADER = """# Written by builders/lock.py. {what}
# For every system and Python from 3.11 on; install with --require-hashes.
"""


def resolved(wanted: list[str], kept: str = "") -> str:
    """The lock of the wanted requirements; `kept` is an earlier lock whose versions stay as they are."""
    with tempfile.TemporaryDirectory() as folder:
        asked, known = Path(folder, "asked.in"), Path(folder, "known.txt")
        asked.write_text("\n".join(wanted) + "\n", encoding="utf-8")
        known.write_text(kept, encoding="utf-8")
        command = ["uv", "pip", "compile", str(asked), "-c", str(known), *FOR_ALL, *PLAIN]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def entries(lock: str) -> list[str]:
    """The lock, one entry a requirement, hashes included."""
    return [entry for entry in re.split(r"\n(?=\S)", lock.strip()) if entry and not entry.startswith("#")]


def main() -> None:
    """Write both locks; the second holds only what the tests add."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    run_wanted = project["project"]["dependencies"] + project["build-system"]["requires"]
    run_lock = resolved(run_wanted)
    run_entries = entries(run_lock)
    all_entries = entries(resolved(run_wanted + project["dependency-groups"]["test"], run_lock))
    added = [entry for entry in all_entries if entry not in run_entries]
    for name, what, kept in (
        ("requirements.lock", "What Purfle needs to run.", run_entries),
        ("requirements-test.lock", "What its tests need besides.", added),
    ):
        (ROOT / name).write_text(HEADER.format(what=what) + "\n".join(kept) + "\n", encoding="utf-8", newline="\n")
        print(f"{name}: {len(kept)} requirements")


if __name__ == "__main__":
    main()
