"""Is an enquiry read as it was meant: blanks, pins, references, and a file of them."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.enquiry.enquiry import read_enquiry
from quotelib.enquiry.reading import read_enquiries
from quotelib.enquiry.request import single
from quotelib.errors import InputError
from quotelib.levels import LEVELS
from quotelib.resources import demo_enquiries

# The columns of the data contract, in our order; from_drive is our own addition.
CONTRACT = (
    "enquiry_id customer currency builds usable_tb workload host_iops host_mb_s survive"
    " max_loss_pct media free_slots max_price discount_pct tax_code note chassis controller"
    " drive members level spans spares owned accept options services redundant_supply max_watts"
    " server array action have_drives from_controller from_drive cores memory_gb max_response_ms"
    " max_lead_days condition parts line line_quantity"
    " line_price line_cost ship_by customer_ref"
)

LEAST = {"enquiry_id": "E-1", "customer": "Somebody", "usable_tb": "4"}


def test_columns_are_those_of_the_contract() -> None:
    assert " ".join(COLUMNS) == CONTRACT
    assert set(PINS) <= set(COLUMNS)


def test_what_blank_means(small: PriceList) -> None:
    blank = read_enquiry({**dict.fromkeys(COLUMNS, ""), **LEAST}, small)
    assert blank == read_enquiry(LEAST, small)
    assert blank.builds == 1
    assert blank.discount_pct == 0
    assert (blank.currency, blank.tax_code) == (None, None)
    assert all(blank.value(pin) is None for pin in PINS)
    assert blank.demands == (("usable_tb", Decimal(4)),)
    assert (blank.owned, blank.accept, blank.note) == ((), (), "")


def test_spaces_around_a_cell_do_not_count(small: PriceList) -> None:
    spaced = {name: f"  {value}\t" for name, value in LEAST.items()}
    assert read_enquiry(spaced, small) == read_enquiry(LEAST, small)


def test_pins_make_a_size_unnecessary(small: PriceList) -> None:
    cells = {"enquiry_id": "E-1", "customer": "C", "drive": "DISK-4T", "members": "3"}
    assert read_enquiry({**cells, "level": "5"}, small).value("usable_tb") is None
    with pytest.raises(InputError, match="drive, members and level are not all given"):
        read_enquiry(cells, small)


def test_every_problem_of_a_row_is_told(small: PriceList) -> None:
    cells = {"customer": "C", "usable_tb": "-1", "builds": "0", "drive": "DISK-9T", "level": "7"}
    with pytest.raises(InputError) as caught:
        read_enquiry(cells, small, "enquiries.csv", 12)
    problems = caught.value.problems
    assert {p.column for p in problems} == {"enquiry_id", *cells} - {"customer"}
    assert {(p.file, p.row) for p in problems} == {("enquiries.csv", 12)}


def test_a_part_is_found_among_its_own_kind_only(small: PriceList) -> None:
    with pytest.raises(InputError, match="is not among the price list's controllers"):
        read_enquiry({**LEAST, "controller": "DISK-4T"}, small)


def test_without_leaves_pins_to_us(small: PriceList) -> None:
    pinned = read_enquiry({**LEAST, "drive": "DISK-4T", "level": "5"}, small)
    assert pinned.without("drive", "level") == read_enquiry(LEAST, small)


amounts = st.decimals("0", "100000", places=3).map(str)
counts = st.integers(0, 1000).map(str)
# Any text a customer may type, but for blanks at its ends, which do not count.
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=200).map(str.strip)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.fixed_dictionaries(
        {"enquiry_id": texts.filter(bool), "customer": texts.filter(bool), "usable_tb": amounts},
        optional={
            "currency": st.sampled_from(["GBP", "EUR", "JPY", "KWD"]),
            "builds": st.integers(1, 1000).map(str),
            "workload": st.just("files"),
            "host_iops": amounts,
            "host_mb_s": amounts,
            "survive": counts,
            "max_loss_pct": st.decimals("0", "100", places=2).map(str),
            "media": st.sampled_from(["hdd", "ssd"]),
            "free_slots": st.integers(0, 256).map(str),
            "max_price": amounts,
            "discount_pct": st.decimals("0", "100", places=2).map(str),
            "tax_code": st.sampled_from(["S", "ODD"]),
            "note": texts,
            "chassis": st.just("BOX-4"),
            "controller": st.just("CARD"),
            "drive": st.just("DISK-4T"),
            "members": st.integers(1, 1000).map(str),
            "level": st.sampled_from(sorted(LEVELS)),
            "spans": st.integers(1, 9).map(str),
            "spares": counts,
            "accept": st.sampled_from(["no_redundancy", "cache_unprotected;loss_over_limit"]),
        },
    )
)
def test_written_and_read_again_it_is_the_same(small: PriceList, cells: dict[str, str]) -> None:
    enquiry = read_enquiry(cells, small)
    assert read_enquiry(enquiry.cells(), small) == enquiry
    for name in ("customer", "note", "enquiry_id"):
        assert getattr(enquiry, name) == cells.get(name, "")


# A file of them


def write(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "enquiries.csv"
    path.write_text(text, encoding=encoding)
    return path


def test_a_bad_row_does_not_cost_the_good_ones(small: PriceList, tmp_path: Path) -> None:
    path = write(
        tmp_path,
        "enquiry_id,customer,usable_tb,drive\n"
        "A,First,4,\n"
        "B,Second,4,DISK-9T\n"
        "C,Third,4\n"
        "\n"
        ',Fifth "quoted" in the middle,4,\n'
        '"F",Sixth,"4",DISK-4T\n',
    )
    found = read_enquiries(path, small)
    assert [(a.rows[0].row, a.enquiry_id, a.request is not None) for a in found] == [
        (2, "A", True),
        (3, "B", False),
        (4, "C", False),
        (6, "", False),
        (7, "F", True),
    ]
    assert [[len(row.problems) for row in asked.rows] for asked in found] == [
        [0], [1], [1], [1], [0],
    ]  # fmt: skip


def test_columns_may_come_in_any_order_and_optional_ones_be_missing(
    small: PriceList, tmp_path: Path
) -> None:
    (asked,) = read_enquiries(write(tmp_path, "usable_tb,customer,enquiry_id\n4,C,X\n"), small)
    cells = {"enquiry_id": "X", "customer": "C", "usable_tb": "4"}
    assert asked.request == single(read_enquiry(cells, small))


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_line_ends_and_byte_order_mark(
    small: PriceList, tmp_path: Path, end: str, encoding: str
) -> None:
    path = tmp_path / "enquiries.csv"
    lines = ["enquiry_id,customer,usable_tb", "Ä-1,Größe & Söhne,4", ""]
    path.write_bytes(end.join(lines).encode(encoding))
    (asked,) = read_enquiries(path, small)
    assert asked.request is not None
    assert asked.request.first.customer == "Größe & Söhne"


def test_customers_names_are_data(small: PriceList, tmp_path: Path) -> None:
    names = [
        "<script>alert(1)</script>",
        "../../etc/passwd",
        '=HYPERLINK("http://example.invalid")',
        "قاعة دفاتر",
        "霧浜",
        'It\'s "quoted", twice',
        "x" * 300,
        "two\nlines",
    ]
    quoted = [name.replace('"', '""') for name in names]
    body = "".join(f'E-{n},"{name}",4\n' for n, name in enumerate(quoted))
    found = read_enquiries(write(tmp_path, f"enquiry_id,customer,usable_tb\n{body}"), small)
    assert [asked.request.first.customer for asked in found if asked.request] == names
    # A cell of two lines is one row, as a spreadsheet counts.
    assert [row.row for asked in found for row in asked.rows] == list(range(2, 2 + len(names)))


def test_the_example_enquiries(starter: PriceList) -> None:
    found = read_enquiries(demo_enquiries(), starter)
    assert len(found) >= 24
    # every level is asked for; the rows that cannot be read say so in their note
    requests = [asked.request for asked in found if asked.request]
    assert {row.level for request in requests for row in request.rows} >= set(LEVELS)
    for asked in found:
        assert (asked.request is None) == any(row.problems for row in asked.rows)
        for row in asked.rows:
            assert bool(row.problems) == ("the row is invalid" in row.cells["note"])


def test_amounts_are_exact(small: PriceList) -> None:
    enquiry = read_enquiry({**LEAST, "max_price": "1234567.891", "discount_pct": "0.1"}, small)
    assert enquiry.value("max_price") == Decimal("1234567.891")
    assert enquiry.discount_pct == Decimal("0.1")
