"""The queue of work on PostgreSQL, as those see it who hand something in: jobs of procrastinate, in a schema of ours.

A round is one job; the worker that takes it gathers the facts and hands in one job a pull. Jobs stand in queues by the
state of the wall's files, so that only a worker with the same files takes them.
"""

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import psycopg
from procrastinate import App, SyncPsycopgConnector
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
from procrastinate.jobs import Job
from psycopg_pool import PoolTimeout

from wallbill.errors import Place, StoreError
from wallbill.server.model import Pull, Round
from wallbill.server.packing import plain_marks, plain_pull, plain_round
from wallbill.server.shell_queue_schema import bring_up_queue, connecting
from wallbill.sources.frozen import Mark
from wallbill.store.addresses import read_address

GATHER, PULL = "wallbill.gather", "wallbill.pull"
"""The names of the two tasks."""

_URGENT = 10
_BATCH = 200
_POOL_S = 2.0
_WAITING = """
SELECT count(*) FILTER (WHERE task_name = %(pull)s)
     + coalesce(sum(jsonb_array_length(args -> 'work' -> 'pulls')) FILTER (WHERE task_name = %(gather)s), 0) AS waiting
  FROM procrastinate_jobs WHERE status IN ('todo', 'doing')
"""
_HELD = """
SELECT queueing_lock AS held FROM procrastinate_jobs
 WHERE status IN ('todo', 'doing') AND queueing_lock = ANY(%(locks)s)
 UNION
SELECT jsonb_array_elements_text(args -> 'locks') FROM procrastinate_jobs
 WHERE status IN ('todo', 'doing') AND task_name = %(gather)s
"""
_LATER = """
SELECT args -> 'order' -> 'displays' AS displays FROM procrastinate_jobs
 WHERE status = 'todo' AND lock = %(lock)s AND queue_name = %(queue)s
   AND (args -> 'order' ->> 'at')::timestamptz > %(at)s
"""
_STRAYS = """
SELECT count(*) AS strays FROM procrastinate_jobs
 WHERE status = 'todo' AND task_name = ANY(%(tasks)s) AND queue_name <> ALL(%(queues)s)
"""
_DROP_STRAYS = """
UPDATE procrastinate_jobs SET status = 'cancelled'
 WHERE status = 'todo' AND task_name = ANY(%(tasks)s) AND queue_name <> ALL(%(queues)s)
"""


def queue_of(task: str, wall: str) -> str:
    """The queue for a task on a wall in this state."""
    return f"{task.rpartition('.')[2]} {wall[:32]}"


def lock_of(order: Pull) -> str:
    """Of jobs with the same lock one runs at a time: those for the same display."""
    return f"display {order.displays[0]}"


@dataclass(frozen=True, slots=True)
class Gathered:
    """What a gathering left for its pulls: a name for it, and the marks under which the facts are kept."""

    name: str
    marks: tuple[Mark, ...]


class Queue:
    """The queue of the store at ``url``. May be used from several threads.

    Raises `StoreError`, here and in each method, where the database does not answer.
    """

    def __init__(self, url: str) -> None:
        self._shown = Place(read_address(url).shown)
        self._app = App(
            connector=SyncPsycopgConnector(
                kwargs=connecting(url), min_size=1, max_size=4, timeout=_POOL_S, reconnect_timeout=_POOL_S
            )
        )
        bring_up_queue(url)
        with self._told():
            self._app.open()

    def close(self) -> None:
        """Closes every connection."""
        self._app.close()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """What the database says as `StoreError`."""
        try:
            yield
        except (ConnectorException, psycopg.Error, PoolTimeout) as fault:
            cause = str(fault.__cause__ or fault).strip().splitlines()
            raise StoreError(
                f"the queue cannot be reached: {cause[0] if cause else type(fault).__name__}",
                where=self._shown,
                mend="See that the database's server runs and can be reached; work goes on by itself then.",
            ) from None

    def _rows(self, query: str, **values: Any) -> list[dict[str, Any]]:
        with self._told():
            found: list[dict[str, Any]] = self._app.connector.execute_query_all(query, **values)
            return found

    def fresh(self, work: Round) -> Round:
        """The round without pulls that wait already."""
        rows = self._rows(_HELD, gather=GATHER, locks=[order.lock for order in work.pulls])
        held = {row["held"] for row in rows}
        known: dict[str, Pull] = {order.lock: order for order in work.pulls if order.lock not in held}
        return Round(work.at, work.sources, tuple(known.values()))

    def hand_in(self, work: Round, *, wait: timedelta = timedelta(0)) -> bool:
        """Hands in a round, unless the very same waits already."""
        wall = work.pulls[0].wall
        locks = sorted(order.lock for order in work.pulls)
        digest = hashlib.sha256("\n".join(locks).encode()).hexdigest()
        job = self._app.configure_task(
            GATHER,
            queue=queue_of(GATHER, wall),
            queueing_lock=f"gather {digest}",
            lock="gather",
            priority=max(map(_priority, work.pulls)),
            schedule_at=_after(wait),
        )
        args: dict[str, Any] = {"work": plain_round(work), "locks": locks}
        with self._told():
            try:
                job.defer(**args)
            except AlreadyEnqueued:
                return False
        return True

    def hand_in_pulls(
        self, orders: Sequence[Pull], gathered: Gathered, *, wait: timedelta = timedelta(0)
    ) -> None:
        """Hands in pulls whose facts are gathered; those that wait already are passed over."""
        for start in range(0, len(orders), _BATCH):
            self._hand_in_some(orders[start : start + _BATCH], gathered, wait)

    def _hand_in_some(self, orders: Sequence[Pull], gathered: Gathered, wait: timedelta) -> None:
        jobs = [self._job(order, gathered, wait) for order in orders]
        with self._told():
            try:
                self._app.job_manager.batch_defer_jobs(jobs)
            except AlreadyEnqueued:
                if len(orders) > 1:
                    for order in orders:
                        self._hand_in_some([order], gathered, wait)

    def _job(self, order: Pull, gathered: Gathered, wait: timedelta) -> Job:
        configured = self._app.configure_task(
            PULL,
            queue=queue_of(PULL, order.wall),
            queueing_lock=order.lock,
            lock=lock_of(order),
            priority=_priority(order),
            schedule_at=_after(wait),
        )
        args: dict[str, Any] = {"order": plain_pull(order), "marks": plain_marks(gathered.marks)}
        return configured.make_new_job(**args, gathered=gathered.name)

    def is_overtaken(self, order: Pull) -> bool:
        """Whether a later pull for all its displays waits: then this one need not be pressed."""
        rows = self._rows(_LATER, lock=lock_of(order), queue=queue_of(PULL, order.wall), at=order.at)
        return any(set(order.displays) <= set(row["displays"]) for row in rows)

    def waiting(self) -> int:
        """How many pulls wait or are being pressed, wherever."""
        return int(self._rows(_WAITING, pull=PULL, gather=GATHER)[0]["waiting"])

    def strays(self, wall: str) -> int:
        """How many jobs wait for workers with another state of the wall than this."""
        return int(self._rows(_STRAYS, tasks=[GATHER, PULL], queues=_queues(wall))[0]["strays"])

    def drop_strays(self, wall: str) -> None:
        """Cancels jobs for other states of the wall: what they were for is handed in anew with this one."""
        with self._told():
            self._app.connector.execute_query(_DROP_STRAYS, tasks=[GATHER, PULL], queues=_queues(wall))


def _after(wait: timedelta) -> datetime | None:
    """When a job may be begun; None: at once."""
    return datetime.now(UTC) + wait if wait else None


def _queues(wall: str) -> list[str]:
    return [queue_of(task, wall) for task in (GATHER, PULL)]


def _priority(order: Pull) -> int:
    """Somebody stands before a display and waits for what they asked for."""
    return _URGENT if order.sheet else 0
