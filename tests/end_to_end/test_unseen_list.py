"""The whole batch, on a price list it has never seen, against the second program."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

from quotelib.documents.batch.run import run_batch
from tests.second_program.comparing import compare
from tests.second_program.generate import SMALL, generate
from tests.second_program.reference import reference_rows

DATE = dt.date(2026, 11, 25)


def test_the_whole_batch_on_one_unseen_list(tmp_path: Path) -> None:
    prices, enquiries = generate(77, tmp_path, replace(SMALL, enquiries=20))
    run_batch(enquiries, tmp_path / "out", prices=prices, date=DATE)
    assert compare(tmp_path / "out" / "summary.csv", reference_rows(prices, enquiries)) == []
