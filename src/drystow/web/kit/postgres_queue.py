"""The queue of background work in PostgreSQL, by Procrastinate: for several processes that share a database.

Each process works jobs off in threads of its own, one a lane. A job stands in the database once, whoever asks for it;
one whose worker is gone is taken up by another.
"""

import asyncio
import logging
import threading
import time
from contextlib import suppress
from typing import Any

from django.db import connection, transaction
from procrastinate import App
from procrastinate.contrib.django import app as asking
from procrastinate.contrib.django.django_connector import DjangoConnector
from procrastinate.contrib.django.models import ProcrastinateJob
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
from procrastinate.job_context import JobContext
from procrastinate.jobs import DeleteJobCondition, Status

from drystow.web.kit.background import LANES, TASKS, Job, Stopped, do
from drystow.web.kit.models import Answer

DO = "drystow.do"
BEAT, GONE = 5.0, 30.0
"""A worker says so often that it lives; after such a silence it is taken for gone [s]. Source: drystow-default."""
AGAIN = 5.0
"""After this the work is begun anew when the database was away [s]. Source: drystow-default."""
OFTEN = 0.5
"""How far a job is goes into the database at most so often [s]."""
MOST_TRIES = 3
"""A job whose worker is gone so often is given up: it may be what kills them."""

_log = logging.getLogger(__name__)


class Tasks:
    """The queue of all processes that share a database."""

    def __init__(self) -> None:
        self._here: dict[Job, JobContext] = {}  # what this process is at
        self._told: dict[Job, float] = {}

    def ask(self, job: Job) -> None:
        """Have a job done in the background, once."""
        if self._row(job) is None:
            name, pk = job
            with suppress(AlreadyEnqueued), transaction.atomic():
                asking.configure_task(
                    DO, queue=TASKS[name].lane, lock=_key(job), queueing_lock=_key(job), allow_unknown=True
                ).defer(name=name, pk=pk)

    def progress(self, job: Job) -> float | None:
        """Return how far a job is; None when nobody works on it and it does not wait."""
        row = self._row(job)
        if row is None:
            return None
        kept = Answer.objects.filter(kind=job[0], subject=job[1]).values_list("progress", flat=True).first()
        return kept if kept is not None and row.status == Status.DOING.value else 0.0

    def tell(self, job: Job, progress: float) -> None:
        """Note how far a job is; raises `Stopped` when it is to be broken off."""
        context = self._here.get(job)
        if context is not None and context.should_abort():
            raise Stopped
        now = time.monotonic()
        if now - self._told.get(job, 0.0) >= OFTEN:
            self._told[job] = now
            Answer.objects.update_or_create(kind=job[0], subject=job[1], defaults={"progress": progress})

    def stop(self, job: Job) -> None:
        """Break a job off that waits or is at work."""
        row = self._row(job)
        if row is not None:
            asking.job_manager.cancel_job_by_id(row.pk, abort=True, delete_job=True)

    def work(self) -> None:
        """Begin to work off what waits, in threads of this process."""
        for lane in LANES:
            threading.Thread(target=self._work, args=(lane,), name=lane, daemon=True).start()

    def _work(self, lane: str) -> None:
        while True:
            try:
                asyncio.run(self._work_off(lane))
            except Exception:
                _log.exception("the work of the lane '%s' is begun anew", lane)
            time.sleep(AGAIN)

    async def _work_off(self, lane: str) -> None:
        assert isinstance(asking.connector, DjangoConnector)
        worker = App(connector=asking.connector.get_worker_connector())
        worker.task(name=DO, pass_context=True)(self._do)
        async with worker.open_async():
            retrying = asyncio.create_task(_take_up_again(worker, lane))
            try:
                await worker.run_worker_async(
                    queues=[lane],
                    name=lane,
                    install_signal_handlers=False,
                    delete_jobs=DeleteJobCondition.ALWAYS,
                    update_heartbeat_interval=BEAT,
                    stalled_worker_timeout=GONE,
                )
            finally:
                retrying.cancel()

    def _do(self, context: JobContext, name: str, pk: int) -> None:
        job = (name, pk)
        self._here[job] = context
        try:
            Answer.objects.filter(kind=name, subject=pk).update(progress=0.0)
            do(job)
        finally:
            connection.close()
            del self._here[job]
            self._told.pop(job, None)

    def _row(self, job: Job) -> Any:
        rows = ProcrastinateJob.objects.filter(task_name=DO, lock=_key(job))
        return rows.filter(status__in=(Status.TODO.value, Status.DOING.value)).first()


async def _take_up_again(worker: App, lane: str) -> None:
    """Give jobs back to the queue whose worker is gone, as long as the program runs."""
    while True:
        for job in await worker.job_manager.get_stalled_jobs(queue=lane, seconds_since_heartbeat=GONE):
            with suppress(ConnectorException):  # somebody else was quicker
                if job.attempts < MOST_TRIES:
                    await worker.job_manager.retry_job(job)
                else:
                    _log.error("%s is given up: its worker was gone %s times", job.lock, job.attempts)
                    await worker.job_manager.finish_job(job, Status.FAILED, delete_job=True)
        await asyncio.sleep(BEAT)


def _key(job: Job) -> str:
    return "{} {}".format(*job)
