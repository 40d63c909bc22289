"""The second process: what it is asked comes back as if it had been done here, whoever did it."""

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator

import pytest

from purfle.errors import Fault, FitError
from purfle.mate import Answer, Mate


@pytest.fixture(scope="module")
def mate() -> Iterator[Mate]:
    with Mate() as beside:
        if not beside.is_there:
            pytest.skip("one core: no second process")
        yield beside


def doubled(number: int) -> int:
    return 2 * number


def where(_: object = None) -> int:
    return os.getpid()


LEFT_HERE: list[int] = []


def left_here() -> list[int]:
    return LEFT_HERE


def slow(seconds: float) -> int:
    time.sleep(seconds)
    return os.getpid()


def refused() -> None:
    raise FitError.of([Fault("too narrow", "key 1", "a smaller cutter"), Fault("too deep", "key 2", "less deep")])


def broken() -> None:
    class Unknown(Exception):
        pass

    raise Unknown("cannot travel")


def together(one: list[int], other: int) -> tuple[list[int], int, int]:
    return one, other, os.getpid()


def large(megabytes: int) -> bytes:
    return b"\1" * (megabytes << 20)


def test_what_is_asked_is_done_by_the_other_process_in_turn(mate: Mate) -> None:
    answers = [mate.ask(doubled, number) for number in range(20)]
    assert [answer() for answer in reversed(answers)] == [2 * number for number in reversed(range(20))]
    assert mate.ask(where)() != os.getpid()


def test_an_answer_can_be_had_twice(mate: Mate) -> None:
    answer = mate.ask(slow, 0.0)
    assert answer() == answer()


def test_what_the_mate_has_not_begun_is_done_here_when_it_is_waited_for(mate: Mate) -> None:
    first, second = mate.share(slow, 0.5), mate.share(slow, 0.0)
    time.sleep(0.1)
    assert second() == os.getpid()
    assert first() != os.getpid()


def test_what_is_dropped_is_not_done_and_leaves_nothing_behind(mate: Mate) -> None:
    begun, waiting = mate.share(slow, 0.3), mate.share(slow, 60.0)
    time.sleep(0.1)
    begun.drop()
    waiting.drop()
    assert mate.ask(doubled, 2)() == 4
    assert mate.results == {}
    assert mate.dropped == set()


def test_what_is_kept_stays_with_the_mate_and_can_be_worked_on_there(mate: Mate) -> None:
    kept = mate.keep(list, (1, 2))
    made = mate.ask(together, kept, 7)()
    assert made[:2] == ([1, 2], 7)
    assert made[2] != os.getpid()
    assert kept() == [1, 2]


@pytest.mark.parametrize("way", ["ask", "share", "keep"])
def test_a_refusal_comes_back_with_every_fault(mate: Mate, way: str) -> None:
    ask: Callable[..., Answer[None]] = getattr(mate, way)
    with pytest.raises(FitError) as caught:
        ask(refused)()
    assert [(one.what, one.where, one.mend) for one in caught.value.faults] == [
        ("too narrow", "key 1", "a smaller cutter"),
        ("too deep", "key 2", "less deep"),
    ]


def test_a_refusal_in_what_is_kept_comes_back_from_what_is_asked_of_it(mate: Mate) -> None:
    with pytest.raises(FitError):
        mate.ask(together, mate.keep(refused), 1)()


def test_a_bug_is_told_with_the_lines_it_came_through(mate: Mate) -> None:
    with pytest.raises(RuntimeError, match=r"(?s)in broken.*cannot travel"):
        mate.ask(broken)()


def test_much_can_lie_waiting_in_both_directions(mate: Mate) -> None:
    answers = [mate.ask(len, large(4)) for _ in range(4)] + [mate.ask(large, 4) for _ in range(4)]
    assert [answer() for answer in answers[:4]] == [4 << 20] * 4
    assert all(answer() == large(4) for answer in answers[4:])


def test_work_of_a_mate_that_is_ended_from_outside_is_done_here() -> None:
    with Mate() as beside:
        if not beside.is_there:
            pytest.skip("one core: no second process")
        kept, asked, shared = beside.keep(list, (3,)), beside.ask(slow, 5.0), beside.share(where)
        os.kill(beside.workers[0].pid, signal.SIGTERM)
        assert [asked.__class__, shared(), kept()] == [Answer, os.getpid(), [3]]


def test_leaving_does_not_wait_for_what_nobody_asked_after() -> None:
    start = time.monotonic()
    with Mate() as beside:
        beside.ask(slow, 60.0)
        workers = beside.workers
    assert time.monotonic() - start < 30.0
    assert not any(worker.is_alive() for worker in workers)


def test_several_hands_divide_what_is_asked_and_each_thing_is_done_once() -> None:
    with Mate(hands=2) as beside:
        answers = [beside.ask(slow, 0.2) for _ in range(6)]
        assert len(beside.workers) in (0, 2)
        doers = [answer() for answer in answers]
    assert len(set(doers)) == max(1, len(beside.workers))
    assert len(beside.results) == 0


def test_alone_everything_is_done_here_and_only_when_it_is_waited_for() -> None:
    alone = Mate()
    assert not alone.is_there
    assert alone.ask(where)() == alone.share(where)() == os.getpid()
    assert alone.ask(together, alone.keep(list, (1,)), 2)() == ([1], 2, os.getpid())
    alone.ask(refused)  # never waited for: never done


def test_a_process_with_threads_is_never_copied_since_a_copy_would_wait_for_them() -> None:
    LEFT_HERE.append(1)
    stop = threading.Event()
    other = threading.Thread(target=stop.wait)
    other.start()
    try:
        with Mate(fork=True) as beside:
            if beside.is_there:
                assert beside.ask(left_here)() == []
    finally:
        stop.set()
        other.join()
        LEFT_HERE.clear()
