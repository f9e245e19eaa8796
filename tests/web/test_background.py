"""The queue of background work: each job once, in its lane, however often somebody asks for it."""

import threading

import pytest

from drystow.web.kit import background
from drystow.web.kit.background import BackgroundTask, Stopped, Threads
from tests.patience import until


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """What was done, by two kinds of work that share a lane and one that does not."""
    found: list[tuple[str, int]] = []
    lanes = {"quick": "moments", "also quick": "moments", "long": "minutes"}
    tasks = {
        name: BackgroundTask(name, lambda pk, name=name: found.append((name, pk)), lane) for name, lane in lanes.items()
    }
    monkeypatch.setattr(background, "TASKS", tasks)
    monkeypatch.setattr("drystow.web.kit.background.connection.close", lambda: None)
    return found


def test_one_thread_works_off_a_lane_however_often_it_is_asked(
    done: list[tuple[str, int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    queue, begun = Threads(), []
    monkeypatch.setattr(queue, "start", begun.append)
    for job in (("quick", 1), ("long", 7), ("also quick", 1), ("quick", 1), ("quick", 2), ("long", 7)):
        queue.ask(job)
    assert begun == ["moments", "minutes"]
    queue.work_off("moments")
    assert done == [("quick", 1), ("also quick", 1), ("quick", 2)]
    assert list(queue.waiting) == [("long", 7)]
    queue.ask(("quick", 1))
    assert begun == ["moments", "minutes", "moments"]


def test_threads_do_what_is_asked_while_more_is_asked(done: list[tuple[str, int]]) -> None:
    queue = Threads()
    asking = [
        threading.Thread(target=lambda first=first: [queue.ask(("quick", pk)) for pk in range(first, 200, 4)])
        for first in range(4)
    ]
    for thread in asking:
        thread.start()
    for thread in asking:
        thread.join()
    until(lambda: not queue.waiting)
    assert sorted(done) == [("quick", pk) for pk in range(200)]


def test_what_fails_is_logged_and_the_next_one_goes_on(
    done: list[tuple[str, int]], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    queue = Threads()
    monkeypatch.setattr(queue, "start", lambda lane: None)
    background.TASKS["quick"] = BackgroundTask("quick", lambda pk: 1 / 0, "moments")
    queue.ask(("quick", 1))
    queue.ask(("also quick", 2))
    queue.work_off("moments")
    assert done == [("also quick", 2)]
    assert "quick: number 1 cannot be worked out" in caplog.text


def test_a_job_that_is_stopped_is_broken_off_when_it_tells_how_far_it_is(done: list[tuple[str, int]]) -> None:
    queue = Threads()
    queue.start = lambda lane: None  # type: ignore[method-assign]
    queue.ask(("long", 1))
    queue.tell(("long", 1), 0.5)
    assert queue.progress(("long", 1)) == 0.5
    assert queue.progress(("long", 2)) is None
    queue.stop(("long", 1))
    with pytest.raises(Stopped):
        queue.tell(("long", 1), 0.6)
    queue.ask(("long", 1))  # somebody wants it again
    queue.tell(("long", 1), 0.7)
