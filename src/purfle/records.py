"""`dataclass` without the wait: what `dataclasses.dataclass` makes, made when it is first needed.

The one of the library writes and compiles up to six functions for each class while its module is loaded. That was half
of what it took to load Purfle's own modules, and most of these functions are never called. Here they are shared, and
`__init__` alone is compiled, when a class is first called. To a type checker it is the one of the library; so it is for
`fields`, `replace`, `copy` and `pickle`. Supported are `frozen`, `slots` and `eq`, and fields as `field(default=...)`,
`field(default_factory=...)` and `compare=False` make them.
"""

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls=None, /, *, frozen=False, slots=False, eq=True):
        """Turn a class into a dataclass."""

        def turned(plain):
            made = dataclasses.dataclass(plain, init=False, repr=False, eq=False, slots=slots)
            return _finished(plain, made, frozen, eq)

        return turned if cls is None else turned(cls)


def _finished(plain: type, made: type, frozen: bool, eq: bool) -> type:
    """The class with its functions; those that it has written itself stay."""
    every = dataclasses.fields(made)
    values = _values_of([field.name for field in every])
    compared = _values_of([field.name for field in every if field.compare])
    functions: dict[str, Any] = {"__init__": _first_init(made, frozen), "__repr__": _repr}
    if eq:
        functions |= {"__eq__": _eq_by(compared), "__hash__": _hash_by(compared) if frozen else None}
    if frozen:
        functions |= {"__setattr__": _refuse, "__delattr__": _refuse}
        functions |= {"__getstate__": lambda self: values(self), "__setstate__": _set_all(made)}
    for name, function in functions.items():
        if name not in plain.__dict__:
            setattr(made, name, function)
    return made


def _values_of(names: list[str]) -> Callable[[Any], tuple[Any, ...]]:
    """A function that gives the values of some fields of a thing."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda thing: tuple(getattr(thing, name) for name in names)


def _eq_by(values: Callable[[Any], tuple[Any, ...]]) -> Callable[[Any, Any], Any]:
    def equal(self: Any, other: Any) -> Any:
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    return equal


def _hash_by(values: Callable[[Any], tuple[Any, ...]]) -> Callable[[Any], int]:
    def hashed(self: Any) -> int:
        return hash(values(self))

    return hashed


def _repr(self: Any) -> str:
    told = (f"{field.name}={getattr(self, field.name)!r}" for field in dataclasses.fields(self) if field.repr)
    return f"{self.__class__.__qualname__}({', '.join(told)})"


def _refuse(self: Any, name: str, *_: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot change field {name!r}")


def _set_all(made: type) -> Callable[[Any, tuple[Any, ...]], None]:
    def set_all(self: Any, state: tuple[Any, ...]) -> None:
        for field, value in zip(dataclasses.fields(made), state, strict=True):
            object.__setattr__(self, field.name, value)

    return set_all


def _first_init(made: type, frozen: bool) -> Callable[..., None]:
    """An `__init__` that puts a compiled one in its place when it is first called."""

    def first(self: Any, *given: Any, **named: Any) -> None:
        made.__init__ = _init_of(made, frozen)  # type: ignore[misc]
        made.__init__(self, *given, **named)  # type: ignore[misc]

    return first


_NOT_GIVEN = object()


def _init_of(made: type, frozen: bool) -> Callable[..., None]:
    """The `__init__` of a dataclass, one argument for each field in their order."""
    space: dict[str, Any] = {"not_given": _NOT_GIVEN, "set_field": object.__setattr__}
    words, lines = ["self"], []
    for field in dataclasses.fields(made):
        name, value = field.name, field.name
        if field.default is not dataclasses.MISSING:
            space[f"default_{name}"] = field.default
            words.append(f"{name}=default_{name}")
        elif field.default_factory is not dataclasses.MISSING:
            space[f"new_{name}"] = field.default_factory
            words.append(f"{name}=not_given")
            value = f"new_{name}() if {name} is not_given else {name}"
        else:
            words.append(name)
        lines.append(f"set_field(self, {name!r}, {value})" if frozen else f"self.{name} = {value}")
    lines += ["self.__post_init__()"] if hasattr(made, "__post_init__") else []
    exec(f"def __init__({', '.join(words)}):\n " + "\n ".join(lines or ["pass"]), space)
    init: Callable[..., None] = space["__init__"]
    init.__qualname__ = f"{made.__qualname__}.__init__"
    return init
