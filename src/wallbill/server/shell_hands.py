"""Hands for the queue on PostgreSQL: they take rounds and pulls, do them, and see to what other hands have dropped.

A worker that dies leaves its jobs behind as begun. They are swept: begun anew, or given up where a like one waits already,
as procrastinate would else keep them for ever (it raises where two with one queueing lock are to wait).
"""

import asyncio
import threading
import time
from collections import OrderedDict
from collections.abc import Coroutine, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import psycopg
from procrastinate import App, PsycopgConnector
from procrastinate.exceptions import ConnectorException, UniqueViolation
from procrastinate.jobs import Job, Status
from psycopg_pool import PoolTimeout
from structlog.typing import FilteringBoundLogger

from wallbill.errors import StoreError, WallbillError
from wallbill.server.model import Pull
from wallbill.server.packing import Snapshot, marks_of, pull_of, round_of
from wallbill.server.shell_copy import differs
from wallbill.server.shell_pressroom import Pressroom
from wallbill.server.shell_queue import GATHER, PULL, Gathered, Queue, queue_of
from wallbill.server.shell_queue_schema import connecting
from wallbill.sources.frozen import Mark

_LOST = (ConnectorException, psycopg.Error, PoolTimeout, StoreError, OSError)
_TICK_S = 0.2
_WALL_EVERY_S = 2.0
_AGAIN_FROM_S, _AGAIN_MOST_S = 1.0, 30.0
_ELSEWHERE = timedelta(seconds=5)
_PRUNE_EVERY_S = 3600.0
_SNAPSHOTS = 4
_SPARE_THREADS = 4
_POOL_S = 3.0
_LONGEST_S = 600.0
_PATIENCE_S = (0.5, 1.0, *(2.0,) * 15)
_TOO_LONG = """
SELECT job.id, status, task_name, priority, lock, queueing_lock, args, scheduled_at, queue_name, attempts, worker_id
  FROM procrastinate_jobs job JOIN procrastinate_events event ON event.job_id = job.id
 WHERE job.status = 'doing' AND event.type = 'started'
 GROUP BY job.id HAVING max(event.at) < now() - make_interval(secs => %(most_s)s)
"""
"""Jobs whose end could not be written down though their worker lives: the database was away just then."""
MOST_DEATHS = 3
"""So many workers may die over a job before it is given up: it may be what killed them."""


@dataclass(frozen=True, slots=True)
class Beats:
    """How often, in seconds: a worker says that it lives; one that has been silent so long is held for dead; the sweep."""

    heartbeat_s: float = 10.0
    dead_s: float = 30.0
    sweep_s: float = 60.0


@dataclass(frozen=True, slots=True)
class Duty:
    """What hands do. ``name``: of the worker, another at each start. ``pulls``: at once, 0: none.

    ``gathers``: whether they gather, for which the wall's secrets must be here.
    """

    name: str
    pulls: int
    gathers: bool
    beats: Beats = Beats()


class Hands:
    """Does what is in the queue, until it is told to stop."""

    def __init__(self, room: Pressroom, queue: Queue, *, url: str, duty: Duty) -> None:
        self._room = room
        self._queue = queue
        self._duty = duty
        self._log: FilteringBoundLogger = room.log
        self._snapshots: OrderedDict[str, Snapshot] = OrderedDict()
        self._lock = threading.Lock()
        self._strays = False
        self._refused = ""
        self._pruned_s = 0.0
        self._app = App(
            connector=PsycopgConnector(
                kwargs=connecting(url),
                min_size=1,
                max_size=6 + duty.pulls,
                timeout=_POOL_S,
                reconnect_timeout=_POOL_S,
            )
        )
        self._app.task(name=GATHER)(self._gather)
        self._app.task(name=PULL)(self._pull)

    def run(self, stop: threading.Event) -> None:
        """Works until ``stop`` is set; then what is begun is finished. A database that goes away is waited for."""
        with asyncio.Runner() as runner, ThreadPoolExecutor(self._duty.pulls + _SPARE_THREADS) as threads:
            runner.get_loop().set_default_executor(threads)
            runner.run(self._run(stop))

    async def _run(self, stop: threading.Event) -> None:
        again_s = _AGAIN_FROM_S
        while not stop.is_set():
            began_s = time.monotonic()
            try:
                async with self._app.open_async():
                    await self._work(stop)
            except _LOST as fault:
                if time.monotonic() - began_s > _AGAIN_MOST_S:
                    again_s = _AGAIN_FROM_S
                self._log.warning("the queue was lost", fault=_first_line(fault), again_s=again_s)
                await _until(stop, again_s)
                again_s = min(again_s * 2, _AGAIN_MOST_S)

    async def _work(self, stop: threading.Event) -> None:
        """Works on one state of the wall's files; returns when they change, the queue is lost or ``stop`` is set."""
        wall = await asyncio.to_thread(self._room.copy.digest)
        self._log.info("at work", worker=self._duty.name, wall=wall[:16], pulls=self._duty.pulls)
        ended = asyncio.Event()
        tasks = [
            asyncio.create_task(_setting(ended, work))
            for work in (*self._workers(wall), self._keep_house(wall), self._watch(stop, wall))
        ]
        await ended.wait()
        for task in tasks:
            task.cancel()
        found = await asyncio.gather(*tasks, return_exceptions=True)
        for each in found:
            if isinstance(each, Exception):
                raise each

    def _workers(self, wall: str) -> list[Coroutine[Any, Any, None]]:
        duty, beats = self._duty, self._duty.beats
        asked = [(PULL, duty.pulls)] if duty.pulls else []
        asked += [(GATHER, 1)] if duty.gathers else []
        return [
            self._app.run_worker_async(
                queues=[queue_of(task, wall)],
                name=duty.name,
                concurrency=count,
                install_signal_handlers=False,
                update_heartbeat_interval=beats.heartbeat_s,
                stalled_worker_timeout=beats.dead_s,
            )
            for task, count in asked
        ]

    async def _watch(self, stop: threading.Event, wall: str) -> None:
        """Until ``stop`` is set or the wall's files have changed."""
        looked_s = time.monotonic()
        while not stop.is_set():
            await asyncio.sleep(_TICK_S)
            if time.monotonic() - looked_s > _WALL_EVERY_S:
                looked_s = time.monotonic()
                if await asyncio.to_thread(self._has_changed, wall):
                    return

    def _has_changed(self, wall: str) -> bool:
        """Whether the wall's files have changed, and can be read: a faulty edit leaves the state before in force."""
        digest = self._room.copy.digest()
        if digest in (wall, self._refused):
            return False
        try:
            self._room.copy.at(digest)
        except (WallbillError, OSError) as fault:
            self._refused = digest
            self._log.warning("the wall cannot be read; the one before stays in force", fault=str(fault))
            return False
        return True

    async def _keep_house(self, wall: str) -> None:
        """Sweeps, prunes, and tells of work that waits for another state of the wall."""
        while True:
            await self._sweep()
            if time.monotonic() - self._pruned_s > _PRUNE_EVERY_S or not self._pruned_s:
                self._pruned_s = time.monotonic()
                await self._app.job_manager.delete_old_jobs(
                    1, include_failed=True, include_cancelled=True, include_aborted=True
                )
            strays = bool(await asyncio.to_thread(self._queue.strays, wall))
            if strays and not self._strays:
                self._log.warning(
                    "work waits for another state of the wall", fault=str(differs(self._room.copy.folder))
                )
            self._strays = strays
            await asyncio.sleep(self._duty.beats.sweep_s)

    async def _sweep(self) -> None:
        """Begins anew what dead workers have left, or gives it up."""
        stalled = await self._app.job_manager.get_stalled_jobs(
            seconds_since_heartbeat=self._duty.beats.dead_s
        )
        rows = await self._app.connector.execute_query_all_async(_TOO_LONG, most_s=_LONGEST_S)
        jobs = {job.id: job for job in (*stalled, *(Job.from_row(row) for row in rows))}
        for job in jobs.values():
            with suppress(ConnectorException):  # somebody else swept it, or it is seen at the next sweep
                await self._take_up(job)

    async def _take_up(self, job: Job) -> None:
        assert job.id is not None
        if job.attempts + 1 >= MOST_DEATHS:
            await self._app.job_manager.finish_job_by_id_async(job.id, Status.FAILED, delete_job=False)
            self._log.error("a job was given up: workers died over it", job=job.id, lock=job.queueing_lock)
            if job.task_name == PULL:
                args: Mapping[str, Any] = job.task_kwargs
                order = pull_of(args["order"])
                await asyncio.to_thread(self._room.give_up, order, f"{MOST_DEATHS} workers died over it")
            return
        try:
            await self._app.job_manager.retry_job_by_id_async(job.id, datetime.now(UTC))
            self._log.warning("a dead worker's job is begun anew", job=job.id, lock=job.queueing_lock)
        except UniqueViolation:
            await self._app.job_manager.finish_job_by_id_async(job.id, Status.FAILED, delete_job=False)
            self._log.info("a dead worker's job is left to a like one", job=job.id, lock=job.queueing_lock)

    def _gather(self, work: Mapping[str, Any], locks: list[str]) -> None:
        """The task of a round: its facts are gathered, then its pulls handed in."""
        found = round_of(work)
        name = f"{found.at.isoformat()} {time.time_ns()}"
        for wait_s in (*_PATIENCE_S, None):
            try:
                if not self._has(found.pulls[0].wall):
                    self._queue.hand_in(found, wait=_ELSEWHERE)  # the files changed just now
                    return
                self._queue.hand_in_pulls(found.pulls, Gathered(name, self._room.gather(found)))
            except StoreError as fault:
                self._wait("a round waits for the store", fault, wait_s)
            except Exception as fault:  # noqa: BLE001  pages without any facts would only take good ones down
                self._log.exception("gathering failed")
                for order in found.pulls:
                    self._room.give_up(order, f"its facts could not be gathered ({fault})")
                return
            else:
                return

    def _wait(self, what: str, fault: StoreError, wait_s: float | None) -> None:
        """Waits for a database that is away; raises the fault when there has been enough of that."""
        if wait_s is None:
            raise fault
        self._log.warning(what, fault=_first_line(fault))
        time.sleep(wait_s)

    def _has(self, wall: str) -> bool:
        """Whether the wall in this state is at hand."""
        try:
            self._room.copy.at(wall)
        except (WallbillError, OSError):
            return False
        return True

    def _pull(self, order: Mapping[str, Any], gathered: str, marks: list[list[str]]) -> None:
        """The task of a pull."""
        asked = pull_of(order)
        found = Gathered(gathered, marks_of(marks))
        try:
            self._room.copy.at(asked.wall)
        except (
            WallbillError,
            OSError,
        ):  # the files changed just now: others may have them as they were, or we will
            self._queue.hand_in_pulls([asked], found, wait=_ELSEWHERE)
            return
        if self._queue.is_overtaken(asked):
            self._log.info("overtaken", lock=asked.lock)
            return
        self._patiently(asked, found)

    def _patiently(self, order: Pull, gathered: Gathered) -> None:
        """Pulls; where the database goes away in the middle, once more when it is back: doing it twice does no harm."""
        for wait_s in (*_PATIENCE_S, None):
            try:
                self._room.pull(order, self._snapshot(order, gathered.marks, name=gathered.name))
            except StoreError as fault:
                self._wait("a pull waits for the store", fault, wait_s)
            else:
                return

    def _snapshot(self, order: Pull, marks: tuple[Mark, ...], *, name: str) -> Snapshot:
        """What is kept of the facts, read once for all pulls of a round."""
        with self._lock:
            if name in self._snapshots:
                return self._snapshots[name]
            made = self._room.frozen(order, marks, name=name)
            if made.name == name:
                self._snapshots[name] = made
                while len(self._snapshots) > _SNAPSHOTS:
                    self._snapshots.popitem(last=False)
            return made


async def _setting(ended: asyncio.Event, work: Coroutine[Any, Any, None]) -> None:
    try:
        await work
    finally:
        ended.set()


async def _until(stop: threading.Event, wait_s: float) -> None:
    """Waits, but not when ``stop`` is set."""
    for _ in range(round(wait_s / _TICK_S)):
        if not stop.is_set():
            await asyncio.sleep(_TICK_S)


def _first_line(fault: BaseException) -> str:
    said = str(fault.__cause__ or fault).strip().splitlines()
    return said[0] if said else type(fault).__name__
