"""Read by alembic: runs the steps in the transaction that whoever called it has begun."""

from alembic import context

from quotelib.register.tables import VERSION_TABLE, metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    transactional_ddl=True,
)
context.run_migrations()
