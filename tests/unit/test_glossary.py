"""GLOSSARY.md is the authority: code, command line and sheets use its words, and none that it rules out."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "purfle"
MODULES = sorted(SOURCE.rglob("*.py"))
TEMPLATES = sorted([*SOURCE.rglob("*.typ"), *SOURCE.rglob("*.toml"), *(ROOT / "examples").rglob("*.toml")])
PAPERS = [ROOT / name for name in ("README.md", "ARCHITECTURE.md", "CONTRIBUTING.md", "CHANGELOG.md")]
HOLLOW_NAMES = {"utils", "util", "helpers", "helper", "manager", "common", "misc", "process", "handler"}


def table(heading: str) -> list[tuple[str, str]]:
    """The rows of the glossary's table under a heading."""
    text = (ROOT / "GLOSSARY.md").read_text(encoding="utf-8")
    section = text.split(f"## {heading}\n")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.+?) \| (.+?) \|$", section, re.MULTILINE)
    return [row for row in rows[1:] if set(row[0]) != {"-"}]


def words_ruled_out() -> list[str]:
    """Words that no maker shall read."""
    return [word.strip() for row, _ in table("Words that are not used") if "(" not in row for word in row.split(",")]


def texts_of(module: Path) -> Iterator[tuple[int, str]]:
    """Every string of a module that is no docstring, with its line."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef))
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value


def test_each_word_stands_once() -> None:
    words = [
        word.strip()
        for heading in ("Words of the trade", "Nouns of the code")
        for row, _ in table(heading)
        for word in row.split(",")
    ]
    assert len(words) > 60
    assert sorted({word for word in words if words.count(word) > 1}) == []


def test_every_noun_of_the_model_is_in_the_glossary() -> None:
    known = {word.strip() for row, _ in table("Nouns of the code") for word in row.split(",")}
    trade = {
        word.strip().title().replace(" ", "").replace("-", "")
        for row, _ in table("Words of the trade")
        for word in row.split(",")
    }
    nouns = [
        node.name
        for module in sorted((SOURCE / "model").glob("*.py"))
        for node in ast.parse(module.read_text(encoding="utf-8")).body
        if isinstance(node, ast.ClassDef)
    ]
    assert len(nouns) > 30
    assert [noun for noun in nouns if noun not in known | trade] == []
    assert [noun for noun in known if noun not in nouns] == []


def test_no_text_for_the_maker_uses_a_word_that_is_ruled_out() -> None:
    ruled_out = re.compile(r"\b(" + "|".join(map(re.escape, words_ruled_out())) + r")s?\b", re.IGNORECASE)
    assert ruled_out.search("a Pocket")
    assert ruled_out.search("two router bits")
    found = [
        f"{module.name}:{line}: {text[:60]}"
        for module in MODULES
        for line, text in texts_of(module)
        if ruled_out.search(text)
    ]
    for path in [*TEMPLATES, *(paper for paper in PAPERS if paper.exists())]:
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if ruled_out.search(line):
                found.append(f"{path.name}:{number}: {line[:60]}")
    assert found == []


def test_no_name_is_hollow() -> None:
    """No module, class or function is called after nothing in particular."""
    found = []
    for module in MODULES:
        names = [module.stem, *module.relative_to(SOURCE).parts[:-1]]
        tree = ast.parse(module.read_text(encoding="utf-8"))
        names += [n.name for n in ast.walk(tree) if isinstance(n, (ast.ClassDef, ast.FunctionDef))]
        for name in names:
            words = {word.lower() for word in re.findall(r"[A-Z]?[a-z0-9]+", name)}
            found += [f"{module.name}: {name}" for _ in words & HOLLOW_NAMES]
    assert found == []


def test_roughing_and_last_pass_are_said_in_full() -> None:
    """'Roughing, 0.1 mm left' and 'last pass, to the line': no other names for them."""
    other = re.compile(r"finish(ing)? pass|rough pass|final pass", re.IGNORECASE)
    found = [path.name for path in MODULES + TEMPLATES if other.search(path.read_text(encoding="utf-8"))]
    assert found == []
