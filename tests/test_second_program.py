"""The package against the second program, on price lists neither has seen.

The second program (tests/second_program) was written from the data contract alone and shares
no code with the package: what both agree on is not one reader's slip.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.rows_of_choice import summary_without_pages

from .second_program.comparing import compare
from .second_program.generate import MODERATE, SMALL, generate
from .second_program.reference import reference_rows


@pytest.mark.parametrize("seed", range(40))
def test_small_random_lists(seed: int, tmp_path: Path) -> None:
    prices, enquiries = generate(seed, tmp_path, SMALL)
    path = summary_without_pages(prices, enquiries, tmp_path)
    assert compare(path, reference_rows(prices, enquiries)) == []


@pytest.mark.parametrize("seed", range(2000, 2012))
def test_small_random_lists_with_services(seed: int, tmp_path: Path) -> None:
    prices, enquiries = generate(seed, tmp_path, SMALL, services=True)
    path = summary_without_pages(prices, enquiries, tmp_path)
    assert compare(path, reference_rows(prices, enquiries)) == []


@pytest.mark.parametrize("seed", range(1000, 1003))
def test_moderate_random_lists(seed: int, tmp_path: Path) -> None:
    prices, enquiries = generate(seed, tmp_path, replace(MODERATE, enquiries=20))
    path = summary_without_pages(prices, enquiries, tmp_path)
    assert compare(path, reference_rows(prices, enquiries)) == []
