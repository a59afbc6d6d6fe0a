"""An array of two kinds of drive is estimated by the worse of each figure."""

from dataclasses import replace

import numpy as np
import pytest

from quotelib.build.build import Build
from quotelib.build.layout import Layout
from quotelib.catalogue.price_list import PriceList
from quotelib.predict.inputs import behind, inputs, member
from quotelib.predict.screening import screen
from tests.build.test_actions import PRICES, there


def mixed(have: int) -> Build:
    """Make an array that has drives of 4 TB already and gets larger, quicker ones."""
    made = there(Layout("5", 6), "replace", have, drive="DISK-8T", owned=True)
    slower = PRICES.drives["DISK-8T"].model_copy(
        update={"sku": "SLOW", "capacity_gb": 4000, "read_mb_s": 150.0, "seek_ms": 12.0}
    )
    return replace(made, arrays=(replace(made.arrays[0], drive_before=slower),))


def test_each_figure_is_the_worse_one() -> None:
    (array,) = mixed(2).arrays
    own = PRICES.drives["DISK-8T"]
    found = member(array)
    assert (found.read_mb_s, found.seek_ms) == (150.0, 12.0)
    assert (found.write_mb_s, found.bit_error_rate) == (own.write_mb_s, own.bit_error_rate)
    unknown = own.model_copy(update={"mttf_hours": None})
    assert member(replace(array, drive_before=unknown)).mttf_hours is None


@pytest.mark.parametrize(("have", "read_mb_s"), [(0, 250.0), (1, 150.0), (5, 150.0)])
def test_the_slowest_member_sets_the_pace(have: int, read_mb_s: float) -> None:
    build = mixed(have)
    assert np.all(inputs([behind(build, build.arrays[0])]).read_mb_s == read_mb_s)


def test_it_is_not_taken_for_one_of_equal_drives(small: PriceList) -> None:
    new, old = mixed(0), mixed(2)
    known: dict[object, object] = {}
    both = [behind(build, build.arrays[0]) for build in (new, old)]
    quick, slow = screen(both, None, small.terms, known)  # type: ignore[arg-type]
    assert slow[0] < quick[0]
