"""What Alembic runs for every migration: over the connection that it is handed, inside that one's transaction."""

from alembic import context

from wallbill.store.tables import EDITION_TABLE

context.configure(
    connection=context.config.attributes["connection"],
    version_table=EDITION_TABLE,
    transactional_ddl=True,
    render_as_batch=True,
)
context.run_migrations()
