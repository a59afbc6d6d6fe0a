"""Is there a register of this version; if not, may one be made, or brought up to date?"""

from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from quotelib.errors import InputError, Problem
from quotelib.register.place import Place
from quotelib.register.tables import VERSION_TABLE, VERSIONS, metadata
from quotelib.text import both

_LOCK = 0x71756F7465
"""Of PostgreSQL's advisory locks: who makes or changes tables is alone in that."""
_NEW = "no tables"


def see_to(place: Place, *, make: bool) -> None:
    """See that a place holds a register of this version; bring one of an older version up to it.

    Parameters
    ----------
    make : bool
        Whether one is made where there is none.

    Raises
    ------
    InputError
        Where there is none, it is of a newer version, only half made, or cannot be changed.
    """
    if make:
        place.make()
    if place.there:
        with place.reading() as connection:
            version = _version(place, connection)
        if version == VERSIONS[-1]:
            return
        if version != _NEW or make:
            _bring(place)
            return
    right = "name another, or give a quote into it: quotelib batch ... --register WHERE"
    raise _problem(place, "is not there", right)


def _problem(place: Place, why: str, right: str) -> InputError:
    return InputError([Problem(f"register {place.name}", None, "", "", why, right)])


def _version(place: Place, connection: Connection) -> str:
    """Tell which version it is of, and that nothing of that is missing."""
    there = sa.inspect(connection)
    tables = set(there.get_table_names())
    ours = tables & set(metadata.tables)
    if VERSION_TABLE not in tables:
        if ours:
            raise _half(place, f"it has {both(sorted(ours))}, and does not say of which version")
        return _NEW
    found = connection.execute(sa.text(f"SELECT version_num FROM {VERSION_TABLE}")).scalars().all()
    if not found and not ours:
        return _NEW
    if len(found) != 1:
        raise _half(place, f"it names {len(found)} versions")
    version = str(found[0])
    if version not in VERSIONS:
        why = f"was made by a newer version of the program ({version!r}; this knows {VERSIONS[-1]})"
        raise _problem(place, why, "use that version, or a newer one")
    missing = sorted(set(metadata.tables) - tables)
    if version == VERSIONS[-1]:
        for name in sorted(ours):
            columns = {column["name"] for column in there.get_columns(name)}
            missing += (
                f"{name}.{c.name}" for c in metadata.tables[name].c if c.name not in columns
            )
    if missing:
        raise _half(place, f"it says version {version} and has no {both(missing)}")
    return version


def _half(place: Place, what: str) -> InputError:
    right = "nothing was touched; take the last copy that was kept of it"
    return _problem(place, f"is only half made: {what}", right)


def _bring(place: Place) -> None:
    """Run the steps that are due, all of them or none."""
    with place.writing() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_LOCK)))
        # Somebody else may have done it since.
        if _version(place, connection) != VERSIONS[-1]:
            from alembic import command
            from alembic.config import Config

            config = Config()
            folder = str(Path(__file__).with_name("migrations"))
            config.set_main_option("script_location", folder.replace("%", "%%"))
            config.attributes["connection"] = connection
            command.upgrade(config, VERSIONS[-1])
