"""Run by Alembic for each migration, on the connection that the journal hands over."""

from alembic import context

context.configure(connection=context.config.attributes["connection"], transactional_ddl=False)
context.run_migrations()
