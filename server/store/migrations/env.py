"""Where Alembic comes in: on a connection that `server.store.migrate` already holds the lock of."""

from alembic import context

from server.store.tables import CATALOGUE

context.configure(connection=context.config.attributes["connection"], target_metadata=CATALOGUE)
context.run_migrations()
