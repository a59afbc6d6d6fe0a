"""Are the changes changes, and is the list of those that change nothing up to date."""

import ast

from tests.mutation.__main__ import ROOMS, equivalent, every
from tests.mutation.changes import changes
from tests.mutation.trial import ROOT


def test_each_change_is_one_and_can_be_parsed() -> None:
    for file in ("quotelib/pricing/totals.py", "quotelib/estimate/performance/links.py"):
        source = (ROOT / file).read_bytes()
        found = changes(ROOT, file)
        assert len(found) > 20
        assert len({change.name for change in found}) == len(found)
        for change in found:
            made = ast.dump(ast.parse(change.made(source)))
            assert made != ast.dump(ast.parse(source)), change.name


def test_changes_that_change_nothing_are_still_there_and_say_why() -> None:
    names = {change.name for change in every(list(ROOMS))}
    listed = equivalent()
    assert set(listed) <= names
    assert all(reason.strip() for reason in listed.values())
    # Few enough to be looked at one by one.
    assert len(listed) < 0.05 * len(names)
