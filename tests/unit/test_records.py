"""The dataclasses of Purfle behave as those of the library do: each law is asked of both."""

import copy
import dataclasses
import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field, fields, replace
from typing import Any

import pytest

from purfle import records

Made = Callable[..., Any]
BOTH = pytest.mark.parametrize("dataclass", [records.dataclass, dataclasses.dataclass], ids=["ours", "the library's"])


@records.dataclass(frozen=True, slots=True)
class Spot:
    x: float
    y: float = 0.0
    names: list[str] = field(default_factory=list)

    def far(self) -> float:
        return abs(self.x) + abs(self.y)


@records.dataclass(frozen=True, slots=True)
class NamedSpot(Spot):
    name: str = ""


def made(dataclass: Made, **asked: bool) -> Any:
    @dataclass(**asked)
    class Both:
        a: int
        b: str = "b"
        c: list[int] = field(default_factory=list)

    return Both


@BOTH
@pytest.mark.parametrize("slots", [True, False])
def test_fields_are_given_in_order_or_by_name_and_each_thing_has_its_own_default(dataclass: Made, slots: bool) -> None:
    both = made(dataclass, frozen=True, slots=slots)
    one, other = both(1), both(a=2, b="x", c=[3])
    assert (one.a, one.b, one.c) == (1, "b", [])
    assert (other.a, other.b, other.c) == (2, "x", [3])
    assert both(1).c is not one.c
    assert [f.name for f in fields(both)] == ["a", "b", "c"]
    assert both.__match_args__ == ("a", "b", "c")
    assert hasattr(one, "__dict__") is not slots


@BOTH
def test_a_field_that_is_missing_unknown_or_given_twice_is_an_error(dataclass: Made) -> None:
    both = made(dataclass, frozen=True, slots=True)
    for wrong, words in (((), "missing 1 required"), ((1, 2, 3, 4), "takes from 2 to 4")):
        with pytest.raises(TypeError, match=words):
            both(*wrong)
    with pytest.raises(TypeError, match="unexpected keyword"):
        both(1, d=2)
    with pytest.raises(TypeError, match="multiple values"):
        both(1, a=2)


@BOTH
def test_equal_things_are_equal_and_hashed_alike_only_within_one_class(dataclass: Made) -> None:
    both, like = made(dataclass, frozen=True, slots=True), made(dataclass, frozen=True, slots=True)
    assert both(1, "x", ()) == both(1, "x", ())
    assert both(1, "x", ()) != both(1, "y", ())
    assert both(1, "x", ()) != like(1, "x", ())
    assert hash(both(1, "x", ())) == hash(both(1, "x", ())) == hash((1, "x", ()))
    with pytest.raises(TypeError, match="unhashable"):
        hash(made(dataclass, slots=True)(1))
    alone = made(dataclass, frozen=True, slots=True, eq=False)
    assert alone(1, "x", ()) != alone(1, "x", ())
    assert len({alone(1), alone(1)}) == 2


@BOTH
def test_what_is_frozen_cannot_be_changed_and_says_so(dataclass: Made) -> None:
    one = made(dataclass, frozen=True, slots=True)(1)
    with pytest.raises(FrozenInstanceError, match="'a'"):
        one.a = 2
    with pytest.raises(FrozenInstanceError, match="'a'"):
        del one.a
    loose = made(dataclass, slots=True)(1)
    loose.a = 2
    assert (one.a, loose.a) == (1, 2)


@BOTH
def test_a_field_that_is_not_compared_makes_no_difference(dataclass: Made) -> None:
    @dataclass(frozen=True, slots=True)
    class Seen:
        a: int
        picture: list[int] | None = field(default=None, compare=False)

    assert Seen(1, [2]) == Seen(1)
    assert hash(Seen(1, [2])) == hash(Seen(1))
    assert pickle.loads(pickle.dumps(Spot(1.0, names=["b"]))).names == ["b"]
    assert Seen(1, [2]) != Seen(2, [2])


@BOTH
def test_repr_and_replace(dataclass: Made) -> None:
    both = made(dataclass, frozen=True, slots=True)
    assert repr(both(1)).endswith("Both(a=1, b='b', c=[])")
    assert replace(both(1, "x"), a=2) == both(2, "x")


@BOTH
def test_what_a_class_writes_itself_stays_and_post_init_runs(dataclass: Made) -> None:
    seen = []

    @dataclass(frozen=True, slots=True)
    class Own:
        a: int

        def __repr__(self) -> str:
            return "own"

        def __post_init__(self) -> None:
            seen.append(self.a)

    assert (repr(Own(1)), repr(Own(a=2)), seen) == ("own", "own", [1, 2])


def test_things_travel_and_are_copied_whole() -> None:
    spot = NamedSpot(1.0, 2.0, ["a"], name="b")
    for again in (pickle.loads(pickle.dumps(spot)), copy.deepcopy(spot)):
        assert again == spot
        assert again.names is not spot.names
        with pytest.raises(FrozenInstanceError):
            again.x = 3.0
    assert (spot.far(), spot.name, repr(spot)) == (3.0, "b", "NamedSpot(x=1.0, y=2.0, names=['a'], name='b')")


def test_nothing_is_compiled_while_purfle_is_loaded() -> None:
    """So that a change which brings the wait back is seen: the one of the library compiles as it defines."""
    count = (
        "import builtins, dataclasses; seen = []; real = dataclasses._create_fn if hasattr(dataclasses, '_create_fn')"
        " else None\nassert real\ndef spy(*a, **k):\n seen.append(a[0]); return real(*a, **k)\n"
        "dataclasses._create_fn = spy\nimport purfle.model.job, purfle.model.cutting, purfle.proof, purfle.cutting\n"
        "print(len(seen))"
    )
    if not hasattr(dataclasses, "_create_fn"):
        pytest.skip("this Python's library does it another way")
    done = subprocess.run([sys.executable, "-c", count], capture_output=True, text=True, check=True)
    assert int(done.stdout) == 0
