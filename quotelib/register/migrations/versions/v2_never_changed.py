"""What was given never changes: the database refuses it, whoever asks."""

from alembic import op

revision = "2"
down_revision = "1"

_WHOLE = ("revisions", "parts", "events")
_IDENTITY = ("number", "year", "position", "enquiry_id", "customer")


def upgrade() -> None:
    """Have rows refuse to be changed or removed."""
    if op.get_bind().dialect.name == "postgresql":
        _postgresql()
    else:
        _sqlite()


def _sqlite() -> None:
    for table in _WHOLE:
        for what in ("UPDATE", "DELETE"):
            _sqlite_trigger(table, what, what)
    _sqlite_trigger("quotes", "DELETE", "DELETE")
    _sqlite_trigger("quotes", f"UPDATE OF {', '.join(_IDENTITY)}", "UPDATE")


def _sqlite_trigger(table: str, when: str, what: str) -> None:
    op.execute(
        f"CREATE TRIGGER {table}_no_{what.lower()} BEFORE {when} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'what was given never changes ({table})'); END"
    )


def _postgresql() -> None:
    op.execute(
        "CREATE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'what was given never changes (%)', TG_TABLE_NAME; END $$"
    )
    for table in (*_WHOLE, "quotes"):
        changed = f"UPDATE OF {', '.join(_IDENTITY)}" if table == "quotes" else "UPDATE"
        for name, when, each in (
            ("update", changed, "ROW"),
            ("delete", "DELETE", "ROW"),
            ("truncate", "TRUNCATE", "STATEMENT"),
        ):
            op.execute(
                f"CREATE TRIGGER {table}_no_{name} BEFORE {when} ON {table} "
                f"FOR EACH {each} EXECUTE FUNCTION never_changed()"
            )
