"""PostgreSQL as a store uses it: a pool whose connections are tried before use, and limits of time on the server's side."""

import math

from sqlalchemy import Connection, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import QueuePool

from wallbill.store.addresses import Address
from wallbill.store.faults import fault_of
from wallbill.store.shell_database import Database, Ways

_STATEMENT_MS = 30_000
_OPEN_MS = 120_000
_RECYCLE_S = 3600
_SWIFT = "wallbill_swift"


def great_database(address: Address, *, patience_s: float) -> Database:
    """A database on a server. ``patience_s``: how long to wait for a connection, and for what others hold."""
    try:
        url = make_url(address.url)
        given = str(url.query.get("options", ""))
        options = (
            f"-c statement_timeout={_STATEMENT_MS} -c lock_timeout={math.ceil(patience_s * 1000)}"
            f" -c idle_in_transaction_session_timeout={_OPEN_MS} -c TimeZone=UTC {given}"
        )
        engine = create_engine(
            url.difference_update_query(["options"]),
            poolclass=QueuePool,
            hide_parameters=True,
            pool_size=4,
            max_overflow=12,
            pool_timeout=max(patience_s, 1),
            pool_pre_ping=True,
            pool_recycle=_RECYCLE_S,
            connect_args={
                "connect_timeout": max(math.ceil(patience_s), 2),
                "application_name": "wallbill",
                "keepalives_idle": 30,
                "options": options.strip(),
            },
        )
    except (ImportError, SQLAlchemyError, ValueError) as fault:
        met: Exception = fault
    else:

        @event.listens_for(engine, "begin")
        def begin(connection: Connection) -> None:
            if connection.get_execution_options().get(_SWIFT):
                connection.exec_driver_sql("SET LOCAL synchronous_commit TO off")

        ways = Ways(
            read=engine,
            lasting=engine,
            swift=engine.execution_options(**{_SWIFT: True}),
            snapshot=engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True),
        )
        return Database(ways, address, one_writer=False, patience_s=patience_s)
    raise fault_of(met, address)
