"""Many processes give quotes into one register, some are killed: no gap, none twice, none lost."""

from __future__ import annotations

import os

from .many import run

PROCESSES = int(os.environ.get("MANY_PROCESSES", "3"))
QUOTES = int(os.environ.get("MANY_QUOTES", "4"))
KILLS = int(os.environ.get("MANY_KILLS", "3"))


def test_no_gap_no_number_twice_nothing_lost(where: str) -> None:
    found = run(where, PROCESSES, QUOTES, KILLS)
    assert found.wrong == ()
    assert found.kills == KILLS
    assert found.quotes == PROCESSES * QUOTES
    # One of them ended after it was given and before anybody knew.
    assert found.told_later >= KILLS // 3
