#!/usr/bin/env python3
"""One file for the first steps, standard library only: makes the environment, then runs Purfle in it.

    python3 run.py demo              the Tern lid, from its picture to proven files and sheets, in out/tern-lid
    python3 run.py demo --out DIR    the same, written to DIR
    python3 run.py purfle ARGS...    the purfle command itself, for instance: purfle make my-job
    python3 run.py test [ARGS...]    everything that must hold; ARGS go to pytest
    python3 run.py check             the same without the tests: style, types, layers, examples in the texts
    python3 run.py open [JOB]        the page of a job in the browser; without one, of the Tern lid to try things on

The environment lies in .venv beside this file. It is made on first use, and brought up to date when pyproject.toml or
a lock has changed or the folder has moved. uv is used where it exists; pip does the same otherwise.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent
ENVIRONMENT = ROOT / ".venv"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
LOCKS = {"run": ["requirements.lock"], "test": ["requirements.lock", "requirements-test.lock"]}
OLDEST = (3, 11)
INTERRUPTED = 130
BROWSERS = ("chromium", "chromium-browser")
NO_BROWSER = (
    "The tests of the page drive chromium, which is not there.\n"
    "Mend: on Debian and Ubuntu: sudo apt install chromium; elsewhere put chromium on the path."
)

PROSE = ["tests/unit/test_budgets.py", "tests/unit/test_glossary.py"]
CHECKS = [
    ("style", ["-m", "ruff", "check", "--quiet", "."]),
    ("layout of the code", ["-m", "ruff", "format", "--quiet", "--check", "."]),
    ("types", ["-m", "mypy", "--no-error-summary"]),
    ("layers", ["-c", "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())"]),
    ("examples in the texts", ["-m", "pytest", "-q", "--doctest-modules", "src"]),
]


class CannotStart(Exception):
    """The environment cannot be made: what is wrong and how to mend it."""


def main(words: list[str]) -> int:
    """Do what the first word says; return the exit status."""
    if sys.version_info < OLDEST:
        raise CannotStart(
            f"Purfle needs Python {OLDEST[0]}.{OLDEST[1]} or newer; this is {sys.version.split()[0]}.\n"
            "Mend: start run.py with a newer one, for instance: python3.12 run.py demo"
        )
    verb, rest = (words[0], words[1:]) if words else ("--help", [])
    verbs = {"demo": demo, "purfle": purfle, "test": test, "check": check, "open": open_page}
    if verb in verbs:
        return verbs[verb](rest)
    print(__doc__)
    if verb in ("-h", "--help", "help"):
        return 0
    print(f"run.py has no command {verb!r}. Use one of: {', '.join(verbs)}.", file=sys.stderr)
    return 2


def demo(rest: list[str]) -> int:
    """Make the Tern lid."""
    out: list[str] = []
    if not any(word.startswith("--out") for word in rest):
        (ROOT / "out").mkdir(exist_ok=True)
        out = ["--out", str(ROOT / "out" / "tern-lid")]
    return purfle(["make", str(ROOT / "examples" / "tern-lid"), *out, *rest])


def purfle(rest: list[str]) -> int:
    """Run the purfle command in the folder where the maker stands."""
    make_ready("run")
    # so that what Purfle tells to type next can be typed as it stands
    os.environ["PURFLE_STARTED_AS"] = f"{Path(sys.executable).name} {sys.argv[0]} purfle"
    return call(["-m", "purfle.cli", *rest])


def open_page(rest: list[str]) -> int:
    """Open the page of a job; without one, of a copy of the Tern lid in out/open, so that everything can be tried."""
    job: list[str] = []
    if all(word.startswith("--") for word in rest):
        tried = ROOT / "out" / "open" / "tern-lid"
        if not (tried / "job.toml").exists():
            shutil.copytree(ROOT / "examples" / "tern-lid", tried, dirs_exist_ok=True)
        job = [str(tried)]
    return purfle(["open", *job, *rest])


def check(rest: list[str]) -> int:
    """Everything but the tests; the two tests that read code and texts are among it."""
    make_ready("test")
    return report([quiet_step(name, command) for name, command in [*CHECKS, ("budgets, words", pytest(PROSE))]])


def test(rest: list[str]) -> int:
    """Everything that must hold, tests last so that their closing line is near the end."""
    make_ready("test")
    make_browser_ready()
    steps = [quiet_step(name, command) for name, command in CHECKS]
    start = time.monotonic()
    status = call(pytest(["-n", "2", *rest]), ROOT)
    return report([*steps, ("tests", status, time.monotonic() - start)])


def pytest(rest: list[str]) -> list[str]:
    """The command that runs pytest."""
    return ["-m", "pytest", *rest]


def quiet_step(name: str, command: list[str]) -> tuple[str, int, float]:
    """Run one step of the recipe from the root: its name, exit status and seconds. It is heard only if it fails."""
    print(f"{name} ...", file=sys.stderr, flush=True)
    start = time.monotonic()
    done = subprocess.run([str(PYTHON), *command], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    if done.returncode:
        sys.stdout.flush()
        sys.stdout.buffer.write(done.stdout)
        sys.stdout.flush()
    return name, done.returncode, time.monotonic() - start


def report(steps: list[tuple[str, int, float]]) -> int:
    """Print one line a step; 0 if all held, else 1."""
    print()
    for name, status, seconds in steps:
        print(f"{'holds' if status == 0 else 'FAILS':<7}{name:<26}{seconds:6.1f} s")
    failed = [name for name, status, _ in steps if status]
    print("All of it holds." if not failed else f"Does not hold: {', '.join(failed)}. See above.", flush=True)
    return 1 if failed else 0


def call(command: list[str], folder: Path | None = None) -> int:
    """Run the environment's Python; its exit status. Ctrl-C reaches it too: it is given time to leave cleanly."""
    running = subprocess.Popen([str(PYTHON), *command], cwd=folder)
    try:
        return running.wait()
    except KeyboardInterrupt:
        try:
            running.wait(timeout=10)
        except (KeyboardInterrupt, subprocess.TimeoutExpired):
            running.kill()
        return INTERRUPTED


def make_ready(group: str) -> None:
    """Make .venv hold what the group needs. Warm, this only reads four small files."""
    wanted = fingerprint(group)
    stamps = {name: ENVIRONMENT / f"ready-{name}" for name in LOCKS}
    if PYTHON.exists() and stamps[group].exists() and stamps[group].read_text(encoding="utf-8") == wanted:
        return
    uv = shutil.which("uv")
    if not PYTHON.exists():
        make_environment(uv)
    for stamp in stamps.values():
        stamp.unlink(missing_ok=True)
    what = "Purfle and what it needs" if group == "run" else "Purfle, what it needs and what its tests need"
    print(f"Installing {what} into .venv ...", file=sys.stderr, flush=True)
    install(uv, group)
    for name in stamps if group == "test" else ["run"]:
        stamps[name].write_text(fingerprint(name), encoding="utf-8")


def fingerprint(group: str) -> str:
    """Changes whenever the environment has to be brought up to date; the folder's place is part of it."""
    digest = hashlib.sha256(str(ROOT).encode("utf-8", "surrogateescape"))
    for name in ["pyproject.toml", *LOCKS[group]]:
        digest.update((ROOT / name).read_bytes())
    return digest.hexdigest()


def make_browser_ready() -> None:
    """Have the browser that the tests of the page drive: Debian's package, installed where that may be done."""
    if any(map(shutil.which, BROWSERS)):
        return
    if not (shutil.which("apt-get") and os.name == "posix" and os.geteuid() == 0):
        raise CannotStart(NO_BROWSER)
    print("Installing chromium, which the tests of the page drive ...", file=sys.stderr, flush=True)
    must(["apt-get", "update", "-qq"], "The list of packages could not be read", NO_BROWSER)
    must(["apt-get", "install", "-y", "-qq", "--no-install-recommends", "chromium"], NO_BROWSER)


def make_environment(uv: str | None) -> None:
    """Make an empty .venv, with the Python that runs this file."""
    print("Making .venv (first time only) ...", file=sys.stderr, flush=True)
    shutil.rmtree(ENVIRONMENT, ignore_errors=True)
    if uv:
        must([uv, "venv", "--quiet", "--python", sys.executable, str(ENVIRONMENT)], "uv could not make .venv")
        return
    if not (importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip")):
        raise CannotStart(
            "This Python comes without its venv and ensurepip modules.\n"
            f"Mend: on Debian and Ubuntu: sudo apt install python3-venv (or python3.{sys.version_info[1]}-venv);\n"
            "      elsewhere install Python from its own installer, or install uv. Then start again."
        )
    must([sys.executable, "-m", "venv", str(ENVIRONMENT)], "Python could not make .venv")


def install(uv: str | None, group: str) -> None:
    """Install what the locks name, each file checked against its hash, then Purfle itself from this folder."""
    if uv:
        pip = [uv, "pip", "install", "--quiet", "--compile-bytecode", "--python", str(PYTHON)]
    else:
        pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    locks = [word for name in LOCKS[group] for word in ("-r", str(ROOT / name))]
    mend = "Are you on-line? Is there a file for this Python and system? See docs/decisions/locked-versions.md."
    must([*pip, "--require-hashes", *locks], "What Purfle needs could not be installed", mend)
    must([*pip, "--no-deps", "--no-build-isolation", "-e", str(ROOT)], "Purfle itself could not be installed")
    # compiled now, so that every start is a warm one, also where Python is told to write no compiled files
    subprocess.call([str(PYTHON), "-m", "compileall", "-q", str(ROOT / "src")])


def must(command: list[str], what: str, mend: str = "") -> None:
    """Run a command that has to succeed; its own messages stay on the screen."""
    try:
        status = subprocess.call(command)
    except OSError as refusal:
        raise CannotStart(f"{what}: {refusal}") from refusal
    if status:
        raise CannotStart(f"{what} (its own message stands above).\n{'Mend: ' + mend if mend else ''}".rstrip())


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except CannotStart as refusal:
        sys.exit(str(refusal))
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    except OSError as refusal:
        sys.exit(f"run.py cannot go on: {refusal}")
