"""Run by Alembic inside the program, on the connection that `upgrade` hands over."""

from alembic import context

from studiolog.records import Record

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Record.metadata,
    render_as_batch=True,
    transaction_per_migration=False,
    transactional_ddl=False,  # the caller holds the transaction
)
context.run_migrations()
