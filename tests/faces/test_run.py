"""run.py: on a fresh machine, on a warm one, and on one that lacks something. Nothing is installed here."""

import importlib.util
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
Calls = list[list[str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """run.py as it stands, moved to a folder with a space and an umlaut in its name, with copies of what it reads."""
    spec = importlib.util.spec_from_file_location("run_py", ROOT / "run.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    root = tmp_path / "Küste und Meer"
    root.mkdir()
    for name in ("pyproject.toml", "requirements.lock", "requirements-test.lock"):
        (root / name).write_bytes((ROOT / name).read_bytes())
    python = module.PYTHON.relative_to(module.ROOT)
    monkeypatch.setattr(module, "ROOT", root)
    monkeypatch.setattr(module, "ENVIRONMENT", root / ".venv")
    monkeypatch.setattr(module, "PYTHON", root / python)
    monkeypatch.setattr(module.shutil, "which", lambda _: None)
    return module


@pytest.fixture
def calls(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> Calls:
    """Every command that run.py would have run; making the environment makes an empty file for its Python."""
    made: Calls = []

    def pretend(command: list[str]) -> int:
        made.append([str(word) for word in command])
        run.PYTHON.parent.mkdir(parents=True, exist_ok=True)
        run.PYTHON.touch()
        return 0

    monkeypatch.setattr(run.subprocess, "call", pretend)
    return made


def test_a_fresh_folder_gets_an_environment_from_the_locks(run: ModuleType, calls: Calls) -> None:
    run.make_ready("run")
    venv, locked, itself, compiled = calls
    assert venv[1:3] == ["-m", "venv"]
    assert "--require-hashes" in locked
    assert locked[-2:] == ["-r", str(run.ROOT / "requirements.lock")]
    assert itself[-2:] == ["-e", str(run.ROOT)]
    assert "--no-build-isolation" in itself
    assert compiled[1:] == ["-m", "compileall", "-q", str(run.ROOT / "src")]


def test_warm_it_does_nothing(run: ModuleType, calls: Calls, capsys: pytest.CaptureFixture[str]) -> None:
    run.make_ready("test")
    calls.clear()
    capsys.readouterr()
    run.make_ready("test")
    run.make_ready("run")
    assert calls == []
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("name", ["pyproject.toml", "requirements.lock", "requirements-test.lock"])
def test_what_changed_is_brought_up_to_date(run: ModuleType, calls: Calls, name: str) -> None:
    run.make_ready("test")
    calls.clear()
    with (run.ROOT / name).open("a") as file:
        file.write("# changed\n")
    run.make_ready("test")
    assert ["venv" in call for call in calls] == [False, False, False]


def test_a_folder_that_moved_is_installed_again(run: ModuleType, calls: Calls, monkeypatch: pytest.MonkeyPatch) -> None:
    run.make_ready("run")
    calls.clear()
    moved = run.ROOT.rename(run.ROOT.with_name("moved"))
    for name, place in (("ROOT", moved), ("ENVIRONMENT", moved / ".venv")):
        monkeypatch.setattr(run, name, place)
    monkeypatch.setattr(run, "PYTHON", moved / ".venv" / "bin" / "python")
    run.make_ready("run")
    assert [call[-1] for call in calls][-2:] == [str(moved), str(moved / "src")]


def test_uv_is_used_where_it_exists(run: ModuleType, calls: Calls, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run.shutil, "which", lambda _: "/bin/uv")
    run.make_ready("run")
    by_uv = [call[:3] for call in calls if call[0] == "/bin/uv"]
    assert by_uv == [["/bin/uv", "venv", "--quiet"], *[["/bin/uv", "pip", "install"]] * 2]


def test_a_python_without_venv_says_what_to_install(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run.importlib.util, "find_spec", lambda _: None)
    with pytest.raises(run.CannotStart, match="without its venv") as refusal:
        run.make_ready("run")
    assert "sudo apt install python3-venv" in str(refusal.value)
    assert not run.PYTHON.exists()


def test_an_old_python_says_which_is_needed(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(run, "OLDEST", (99, 0))
    with pytest.raises(run.CannotStart, match=r"needs Python 99\.0 or newer; this is") as refusal:
        run.main(["demo"])
    assert "Mend: start run.py with a newer one" in str(refusal.value)


def test_an_installation_that_fails_is_not_taken_for_a_whole_one(
    run: ModuleType, calls: Calls, monkeypatch: pytest.MonkeyPatch
) -> None:
    pretend = run.subprocess.call
    monkeypatch.setattr(run.subprocess, "call", lambda command: pretend(command) or int("install" in command))
    with pytest.raises(run.CannotStart, match="could not be installed"):
        run.make_ready("run")
    monkeypatch.setattr(run.subprocess, "call", pretend)
    calls.clear()
    run.make_ready("run")
    assert len(calls) == 3


def test_the_demo_makes_the_tern_lid_where_it_is_told_to(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: Calls = []
    monkeypatch.setattr(run, "make_ready", lambda _: None)
    monkeypatch.setattr(run, "call", lambda command: asked.append(command) or 0)
    monkeypatch.setenv("PURFLE_STARTED_AS", "")  # is put back afterwards
    assert run.main(["demo"]) == 0
    assert run.main(["demo", "--out", "elsewhere"]) == 0
    lid = str(run.ROOT / "examples" / "tern-lid")
    assert asked[0] == ["-m", "purfle.cli", "make", lid, "--out", str(run.ROOT / "out" / "tern-lid")]
    assert asked[1] == ["-m", "purfle.cli", "make", lid, "--out", "elsewhere"]


def test_unknown_words_and_no_words_are_answered() -> None:
    none = subprocess.run([sys.executable, ROOT / "run.py"], capture_output=True, text=True)
    wrong = subprocess.run([sys.executable, ROOT / "run.py", "dmeo"], capture_output=True, text=True)
    assert (none.returncode, wrong.returncode) == (0, 2)
    assert "run.py demo" in none.stdout
    assert "run.py has no command 'dmeo'. Use one of: demo, purfle, test, check, open." in wrong.stderr


def test_the_page_opens_on_a_copy_of_the_demo_or_on_the_job_that_is_named(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    asked: Calls = []
    shutil.copytree(ROOT / "examples" / "tern-lid", tmp_path / "examples" / "tern-lid")
    monkeypatch.setattr(run, "ROOT", tmp_path)
    monkeypatch.setattr(run, "make_ready", lambda _: None)
    monkeypatch.setattr(run, "call", lambda command: asked.append(command) or 0)
    monkeypatch.setenv("PURFLE_STARTED_AS", "")  # is put back afterwards
    assert run.main(["open", "--no-browser"]) == 0
    assert run.main(["open", "mine"]) == 0
    tried = tmp_path / "out" / "open" / "tern-lid"
    assert asked == [["-m", "purfle.cli", "open", str(tried), "--no-browser"], ["-m", "purfle.cli", "open", "mine"]]
    assert (tried / "job.toml").exists()


def test_a_browser_that_is_missing_is_installed_or_named(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """As root on Debian its package is installed; everyone else is told what to install, and nothing is skipped."""
    done: list[list[str]] = []
    monkeypatch.setattr(run, "must", lambda command, *_: done.append(command))
    monkeypatch.setattr(run.shutil, "which", lambda name: "/usr/bin/apt-get" if name == "apt-get" else None)
    monkeypatch.setattr(run.os, "geteuid", lambda: 0)
    run.make_browser_ready()
    assert done[-1][-1] == "chromium"
    monkeypatch.setattr(run.os, "geteuid", lambda: 1000)
    with pytest.raises(run.CannotStart, match="sudo apt install chromium"):
        run.make_browser_ready()


def test_every_requirement_is_pinned_with_hashes_and_no_address() -> None:
    """The locks serve pip's and uv's hash mode, and name no index."""
    for name in ("requirements.lock", "requirements-test.lock"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert "://" not in text
        entries = [entry for entry in text.split("\n") if entry and not entry.startswith(("#", " "))]
        assert len(entries) > 15
        assert all("==" in entry and entry.endswith("\\") for entry in entries)
        assert text.count("--hash=sha256:") > 2 * len(entries)
