"""The package against the second program, on price lists neither has seen.

The second program (tests/second_program) was written from the data contract alone and shares
no code with the package: what both agree on is not one reader's slip.
"""

import datetime as dt
from pathlib import Path

import pytest

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents import batch, summary

from .second_program.comparing import compare
from .second_program.generate import MODERATE, SMALL, generate
from .second_program.reference import reference_rows

DATE = dt.date(2026, 11, 25)


def summary_without_pages(prices: Path, enquiries: Path, out: Path) -> Path:
    """Answer as the batch does, but leave the pages out: they take most of its time."""
    price_list = load_price_list(prices)
    rows = []
    for row in batch.read_enquiries(enquiries, price_list):
        base = {"enquiry_id": row.enquiry_id}
        if row.enquiry is None:
            rows.append({**base, "outcome": "invalid", "reason": str(row.problems[0])})
            continue
        answered = batch.answer(price_list, row.enquiry, DATE)
        base |= {"outcome": answered.outcome, "reason": answered.reason}
        if answered.record is not None:
            base |= summary.record_cells(answered.record)
        rows.append(base)
    path = out / "summary.csv"
    path.write_text(summary.to_csv(rows), "utf-8")
    return path


@pytest.mark.parametrize("seed", range(40))
def test_small_random_lists(seed: int, tmp_path: Path) -> None:
    prices, enquiries = generate(seed, tmp_path, SMALL)
    path = summary_without_pages(prices, enquiries, tmp_path)
    assert compare(path, reference_rows(prices, enquiries)) == []


@pytest.mark.parametrize("seed", range(1000, 1003))
def test_moderate_random_lists(seed: int, tmp_path: Path) -> None:
    prices, enquiries = generate(seed, tmp_path, MODERATE)
    path = summary_without_pages(prices, enquiries, tmp_path)
    assert compare(path, reference_rows(prices, enquiries)) == []


def test_the_whole_batch_on_one_unseen_list(tmp_path: Path) -> None:
    prices, enquiries = generate(77, tmp_path, SMALL)
    batch.run_batch(enquiries, tmp_path / "out", prices=prices, date=DATE, jobs=2)
    assert compare(tmp_path / "out" / "summary.csv", reference_rows(prices, enquiries)) == []
