"""The steps that make a register: what they make is what the program expects, from any of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

import quotelib.register
from quotelib.register.book import Register
from quotelib.register.place import place
from quotelib.register.tables import VERSION_TABLE, VERSIONS, metadata


def steps() -> Config:
    config = Config()
    folder = Path(quotelib.register.__file__).with_name("migrations")
    config.set_main_option("script_location", str(folder))
    return config


def test_the_steps_are_those_that_the_program_names() -> None:
    found = ScriptDirectory.from_config(steps()).walk_revisions("base", "heads")
    assert tuple(one.revision for one in found)[::-1] == VERSIONS


def test_the_steps_make_the_tables_that_the_program_knows(where: str, register: Register) -> None:
    with place(where, 5).reading() as connection:
        options = {"version_table": VERSION_TABLE, "compare_type": True}
        context = MigrationContext.configure(connection, opts=options)
        assert compare_metadata(context, metadata) == []


def test_one_of_an_older_version_is_brought_up_to_this(where: str, record: Any) -> None:
    there = place(where, 5)
    there.make()
    with there.writing() as connection:
        config = steps()
        config.attributes["connection"] = connection
        command.upgrade(config, VERSIONS[0])
    with there.reading() as connection:
        asked = sa.text(f"SELECT version_num FROM {VERSION_TABLE}")
        assert connection.execute(asked).scalar_one() == VERSIONS[0]
    register = Register(where)
    assert register.give([record("A")], "Kim")[0].number == "2026-0001"
    with there.reading() as connection:
        assert connection.execute(asked).scalar_one() == VERSIONS[-1]
