"""How does a register of an older version become one of this: alembic runs these in order."""
