"""A workload of the list with numbers of the customer's own: read, said, refused."""

from decimal import Decimal

import pytest

from quotelib.enquiry.enquiry import Enquiry, read_enquiry
from quotelib.enquiry.load import cell_of, load_of, misstated, name_of, numbers_of
from quotelib.errors import InputError
from tests.small_list import price_list

PRICES = price_list()
FILES = PRICES.workloads["files"]


def read(workload: str) -> Enquiry:
    cells = {"enquiry_id": "E-1", "customer": "Somebody", "usable_tb": "4"}
    return read_enquiry({**cells, "workload": workload}, PRICES)


def test_a_name_alone_is_the_workload_of_the_list() -> None:
    assert load_of("files", PRICES.workloads) is FILES
    # What is stated and no different changes nothing.
    assert load_of(f"files; read_pct = {FILES.read_pct}", PRICES.workloads) is FILES


def test_numbers_stand_in_for_those_of_the_list() -> None:
    found = load_of("files;read_pct=12.5;outstanding=64", PRICES.workloads)
    assert (found.read_pct, found.outstanding) == (Decimal("12.5"), 64)
    assert found.description == f"{FILES.description}, here with 12.5 % reads and 64 outstanding"
    same = {"read_pct", "outstanding", "description"}
    for name in type(FILES).model_fields.keys() - same:
        assert getattr(found, name) == getattr(FILES, name)


def test_a_cell_is_read_as_it_is_written() -> None:
    own = {"read_pct": "10", "writes_gb_per_day": "300"}
    cell = cell_of("files", own)
    assert (name_of(cell), numbers_of(cell)) == ("files", own)
    assert cell_of("files", {}) == "files"


@pytest.mark.parametrize(
    ("cell", "why", "right"),
    [
        ("files;read_pct=110", "states read_pct as '110', which is too large", "0 to 100"),
        ("files;read_pct=", "states read_pct as '', which is blank", "0 to 100"),
        ("files;outstanding=1.5", "states outstanding as '1.5', which", "1 to 10000"),
        ("files;min_iops=5", "states 'min_iops'", "after the name state read_pct, random_pct"),
        ("files;", "has a semicolon too many", "as in ;read_pct=70"),
        ("files;read_pct=1;read_pct=2", "states read_pct twice", "state it once"),
    ],
)
def test_what_is_no_number_is_told(cell: str, why: str, right: str) -> None:
    ((told, better),) = misstated(cell, PRICES.workloads)
    assert why in told and right in better
    with pytest.raises(InputError) as caught:
        read(cell)
    (problem,) = caught.value.problems
    assert (problem.column, problem.value) == ("workload", cell)


def test_an_unknown_name_is_told_once() -> None:
    with pytest.raises(InputError) as caught:
        read("nonesuch;read_pct=10")
    (problem,) = caught.value.problems
    assert "is not among the price list's workloads" in problem.why
