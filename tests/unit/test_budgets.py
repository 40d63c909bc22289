"""The budgets of the code: short functions, few parameters, small modules, no cycles, no unnamed small numbers."""

import ast
import statistics
from collections.abc import Iterator
from functools import cache
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src" / "purfle"
MODULES = sorted(SOURCE.rglob("*.py"))
LONGEST, MOST_ARE_UNDER, MEDIAN = 60, 35, 12
MOST_PARAMETERS = 5
LONGEST_MODULE = 600
SMALL = 0.005
"""A number below this inside a function is a tolerance that should have a name."""

Function = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def tree(module: Path) -> ast.Module:
    """A module, parsed once."""
    return ast.parse(module.read_text(encoding="utf-8"))


def functions() -> Iterator[tuple[Path, Function]]:
    """Every function and method of the package."""
    for module in MODULES:
        for node in ast.walk(tree(module)):
            if isinstance(node, Function):
                yield module, node


def lines(function: Function) -> int:
    """Lines that a function takes, docstring included."""
    return (function.end_lineno or function.lineno) - function.lineno + 1


def test_no_function_is_too_long() -> None:
    found = [f"{module.name}: {f.name} ({lines(f)})" for module, f in functions() if lines(f) > LONGEST]
    assert "\n".join(found) == ""


def test_most_functions_are_short() -> None:
    lengths = sorted(lines(function) for _, function in functions())
    assert len(lengths) > 100
    assert statistics.median(lengths) <= MEDIAN
    assert lengths[int(0.9 * len(lengths))] < MOST_ARE_UNDER


def test_no_function_takes_many_parameters() -> None:
    found = []
    for module, f in functions():
        every = [*f.args.posonlyargs, *f.args.args, *f.args.kwonlyargs]
        names = [argument.arg for argument in every if argument.arg not in ("self", "cls")]
        found += [f"{module.name}: {f.name} ({len(names)})"] if len(names) > MOST_PARAMETERS else []
    assert "\n".join(found) == ""


def test_no_module_is_large() -> None:
    sizes = {module.name: len(module.read_text(encoding="utf-8").splitlines()) for module in MODULES}
    assert {name: size for name, size in sizes.items() if size >= LONGEST_MODULE} == {}


def test_small_numbers_have_names() -> None:
    """A bare tolerance inside a function cannot be looked up: tolerances.py or a module's constant holds it."""
    found = []
    for module, f in functions():
        for node in ast.walk(f):
            if isinstance(node, ast.Constant) and isinstance(node.value, float) and 0.0 < node.value < SMALL:
                found.append(f"{module.name}:{node.lineno}: {node.value}")
    assert "\n".join(found) == ""


def test_no_two_modules_import_each_other() -> None:
    """Imports form no cycle, not even inside a package."""
    graph = {_name(module): _imports(module) for module in MODULES}
    done: set[str] = set()

    def walk(name: str, way: tuple[str, ...]) -> None:
        assert name not in way, " -> ".join((*way[way.index(name) :], name))
        if name not in done:
            for other in sorted(graph.get(name, ())):
                walk(other, (*way, name))
            done.add(name)

    for name in sorted(graph):
        walk(name, ())
    assert len(done) == len(graph)


def _name(module: Path) -> str:
    parts = module.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imports(module: Path) -> set[str]:
    """Modules of the package that a module imports when it is loaded; a package's own modules stand for themselves."""
    known = {_name(other) for other in MODULES}
    found = set()
    for node in tree(module).body:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        if isinstance(node, ast.ImportFrom) and node.module:
            full = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= (full & known) or {node.module}
    return (found & known) - {_name(module)}
