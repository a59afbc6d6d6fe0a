"""Do rows of one number make one quote, and is it told where they cannot go together?

Each entry of the corpus is a quote of several rows, and names every problem that has to be told
for it, and no other. Sound quotes stand before and behind it, and must stay so.
"""

import csv
import io
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.reading import Asked, read_enquiries, read_request
from quotelib.enquiry.request import MOST_ARRAYS, request, single
from quotelib.errors import InputError
from tests import services
from tests.asking import order_rows
from tests.small_list import OPTIONS, price_list

Rows = list[dict[str, str]]
TOLD = list[tuple[int, str, str]]
ARRAY = {"usable_tb": "4"}


@pytest.fixture(scope="module")
def prices() -> PriceList:
    return price_list({**services.tables(), "options.csv": OPTIONS})


def quote(*rows: dict[str, str], name: str = "Q") -> Rows:
    """Number some rows; the first names the customer unless it says otherwise."""
    numbered = [{"enquiry_id": name, **row} for row in rows]
    return [{"customer": "Somebody", **numbered[0]}, *numbered[1:]]


def read(folder: Path, prices: PriceList, *quotes: Rows, more: str = "") -> list[Asked]:
    """Write a file of quotes and read it; `more` is one more column of the keeper's own."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, [*COLUMNS, *filter(None, [more])], lineterminator="\n")
    writer.writeheader()
    writer.writerows(row for rows in quotes for row in rows)
    path = folder / "asked.csv"
    path.write_text(out.getvalue(), encoding="utf-8")
    return read_enquiries(path, prices)


DIFFERS = "is not what the first row of the quote says"
OF_SERVER = "is not what the first row of the server says"
THIRTY = [{"server": "s", "array": f"a{n}", **ARRAY} for n in range(30)]

# Name, the rows of one quote, and (row of the quote, column, words) of every problem.
WRONG: list[tuple[str, Rows, TOLD]] = [
    ("another customer below", [ARRAY, {"customer": "Another", "parts": "DISK-4T"}],
     [(1, "customer", f"'Another' {DIFFERS} (Somebody); leave it blank, or say the same")]),
    ("customer on the second row alone", [{"customer": "", **ARRAY}, {"customer": "B", **ARRAY,
                                                                     "array": "b"}],
     [(0, "customer", "is blank; write a few words")]),
    ("another currency", [{"currency": "GBP", **ARRAY}, {"currency": "EUR", "parts": "DISK-4T"}],
     [(1, "currency", f"'EUR' {DIFFERS} (GBP)")]),
    ("a currency below, blank above", [ARRAY, {"currency": "EUR", "parts": "DISK-4T"}],
     [(1, "currency", f"'EUR' {DIFFERS} (blank)")]),
    ("another discount", [{"discount_pct": "5", **ARRAY}, {"discount_pct": "5.01", **ARRAY,
                                                           "array": "b"}],
     [(1, "discount_pct", f"'5.01' {DIFFERS} (5)")]),
    ("another tax code", [{"tax_code": "S", **ARRAY}, {"tax_code": "ODD", "parts": "DISK-4T"}],
     [(1, "tax_code", f"'ODD' {DIFFERS} (S)")]),
    ("another date", [{"ship_by": "2026-04-01", **ARRAY}, {"ship_by": "2026-04-02", "line": "x"}],
     [(1, "ship_by", f"'2026-04-02' {DIFFERS} (2026-04-01)")]),
    ("another reference", [{"customer_ref": "7/A", **ARRAY}, {"customer_ref": "7/B", "line": "x"}],
     [(1, "customer_ref", f"'7/B' {DIFFERS} (7/A)")]),
    ("other builds", [{"builds": "2", **ARRAY}, {"builds": "3", "array": "b", **ARRAY}],
     [(1, "builds", f"'3' {OF_SERVER} (2); leave it blank, or say the same")]),
    ("builds below, one above", [ARRAY, {"builds": "3", "array": "b", **ARRAY}],
     [(1, "builds", f"'3' {OF_SERVER} (blank)")]),
    ("another chassis", [{"chassis": "BOX-4", **ARRAY}, {"chassis": "BOX-12", "array": "b",
                                                         **ARRAY}],
     [(1, "chassis", f"'BOX-12' {OF_SERVER} (BOX-4)")]),
    ("other options", [{"options": "BOOT", **ARRAY}, {"options": "BOOT*2", "array": "b", **ARRAY}],
     [(1, "options", f"'BOOT*2' {OF_SERVER} (BOOT)")]),
    *((f"another {name}", [{name: first, **ARRAY}, {name: second, "array": "b", **ARRAY}],
       [(1, name, f"'{second}' {OF_SERVER} ({first})")])
      for name, first, second in (
          ("free_slots", "1", "2"), ("max_price", "900", "900.01"), ("cores", "8", "16"),
          ("memory_gb", "16", "32"), ("max_watts", "300", "301"), ("max_lead_days", "3", "4"))),
    ("redundant below alone", [ARRAY, {"redundant_supply": "yes", "array": "b", **ARRAY}],
     [(1, "redundant_supply", f"'yes' {OF_SERVER} (blank)")]),
    ("two quote columns and one of the server",
     [{"builds": "2", **ARRAY}, {"customer": "X", "tax_code": "S", "builds": "4", "array": "b",
                                 **ARRAY}],
     [(1, "customer", DIFFERS), (1, "tax_code", DIFFERS), (1, "builds", OF_SERVER)]),
    ("a wrong currency is told where it stands", [{"currency": "SEK", **ARRAY},
                                                  {"parts": "DISK-4T"}, {"line": "x"}],
     [(0, "currency", "'SEK' is not among the price list's currencies")]),
    ("a wrong chassis is told where it stands", [{"chassis": "BOX-5", **ARRAY},
                                                 {"array": "b", **ARRAY}],
     [(0, "chassis", "'BOX-5' is not among the price list's chassis")]),
    ("wrong in both rows", [{"currency": "SEK", **ARRAY}, {"currency": "SEK", "line": "x"}],
     [(0, "currency", "'SEK' is not among"), (1, "currency", "'SEK' is not among")]),
    ("wrong in two ways", [{"currency": "SEK", **ARRAY}, {"currency": "NOK", "line": "x"}],
     [(0, "currency", "'SEK' is not among"), (1, "currency", "'NOK' is not among")]),
    ("no customer", [{"customer": "", **ARRAY}, {"parts": "DISK-4T"}],
     [(0, "customer", "is blank; write a few words")]),
    ("an array without its server's name", [{"server": "one", **ARRAY}, ARRAY],
     [(1, "server", "is blank, though the quote has servers with names; name the server")]),
    ("a server without its name", [{"server": "one", **ARRAY},
                                   {"chassis": "BOX-12", "options": "BOOT"}],
     [(1, "server", "is blank, though the quote has servers with names")]),
    ("named later", [ARRAY, {"server": "two", **ARRAY}],
     [(0, "server", "is blank, though the quote has servers with names")]),
    ("a server of which nothing is asked", [{"server": "one", **ARRAY},
                                            {"server": "two", "parts": "DISK-4T"}],
     [(1, "server", "'two' names a server of which nothing is asked; ask for an array in one")]),
    ("a chassis alone is no server", [{"server": "one", "chassis": "BOX-4"}],
     [(0, "server", "'one' names a server of which nothing is asked")]),
    ("the same row twice", [ARRAY, ARRAY],
     [(1, "array", "is blank, as for another array of the same server; give each array of a")]),
    ("one name for two arrays", [{"server": "s", "array": "a", **ARRAY},
                                 {"server": "s", "array": "b", **ARRAY},
                                 {"server": "s", "array": "a", **ARRAY}],
     [(2, "array", "'a' is the name of another array of the same server")]),
    ("an array named and none asked", [ARRAY, {"array": "data", "parts": "DISK-4T"}],
     [(1, "array", "'data' is given, but the row asks for no array; say how many TB")]),
    ("what only arrays have", [ARRAY, {"parts": "DISK-4T", "spares": "1", "level": "5"}],
     [(1, "spares", "'1' is given, but the row asks for no array"),
      (1, "level", "'5' is given, but the row asks for no array")]),
    ("what only servers have", [{"parts": "DISK-4T", "free_slots": "1", "builds": "2"}],
     [(0, "free_slots", "'1' is given, but the row asks for no server; ask for an array, or"),
      (0, "builds", "'2' is given, but the row asks for no server")]),
    ("thirty arrays in one server", THIRTY,
     [(6, "array", "'a6' is one of more than 6 arrays in one server; spread them over several")]),
    ("nothing asked in a row", [ARRAY, {"note": "and thank you"}],
     [(1, "usable_tb", "is blank, and drive, members and level are not all given")]),
    ("no part at all", [{"parts": "DISK-4T*0"}],
     [(0, "parts", "has 'DISK-4T*0' in its list; separate skus by ';' and put a count of 1 to")]),
    ("as many as x", [{"parts": "DISK-4T*x"}],
     [(0, "parts", "has 'DISK-4T*x' in its list; separate skus by ';' and put a count of 1 to")]),
    ("a star and no count", [{"parts": "DISK-4T*"}], [(0, "parts", "has 'DISK-4T*' in its list")]),
    ("a count and no sku", [{"parts": "*3"}], [(0, "parts", "has '*3' in its list")]),
    ("too many loose parts", [{"parts": "DISK-4T*10000"}],
     [(0, "parts", "put a count of 1 to 9999 behind '*'")]),
    ("options without a count that is one", [{"options": "CPU-8*0;MEM-16*x", **ARRAY}],
     [(0, "options", "has 'CPU-8*0' in its list; separate skus by ';' and put a count of 1 to")]),
    ("an option nobody sells", [{"options": "CPU-9", **ARRAY}],
     [(0, "options", "has 'CPU-9', which is not among the price list's options; use CPU-8")]),
    ("parts nobody sells, told each", [{"parts": "DISK-4X;CARRIERS*2"}],
     [(0, "parts", "has 'DISK-4X', which is not among the price list's parts sold loose; did you "
                   "mean DISK-4T"),
      (0, "parts", "has 'CARRIERS', which is not among the price list's parts sold loose; did you "
                   "mean CARRIER")]),
    ("part of a board", [{"parts": "BOARD"}],
     [(0, "parts", "has 'BOARD', which is not among the price list's parts sold loose")]),
    ("a service for parts", [{"parts": "VISIT"}], [(0, "parts", "has 'VISIT', which is not")]),
    ("a service that is always done", [ARRAY, {"services": "PAPER"}],
     [(1, "services", "has 'PAPER', which is always done; leave it out")]),
    ("a price of nothing said", [ARRAY, {"parts": "DISK-4T", "line_price": "5"}],
     [(1, "line", "is blank, though line_price is given; say what it is for")]),
    ("no whole number of lines", [{"line": "x", "line_quantity": "1.5", "line_price": "1"}],
     [(0, "line_quantity", "'1.5' is not a whole number; give a whole number, 1 or more")]),
    ("none of a line", [{"line": "x", "line_quantity": "0", "line_price": "1"}],
     [(0, "line_quantity", "'0' is too small")]),
    ("a price with its currency", [{"line": "x", "line_price": "GBP 5"}],
     [(0, "line_price", "'GBP 5' is not a number; give an amount, at most a million million")]),
    # ISO 4217: pounds have two decimals, yen none, Kuwaiti dinars three.
    ("a tenth of a penny", [{"line": "x", "line_price": "-1.001", "line_cost": "0.999"}],
     [(0, "line_price", "'-1.001' has more decimals than GBP, which has 2; round it to that"),
      (0, "line_cost", "'0.999' has more decimals than GBP, which has 2")]),
    ("a tenth of a yen, the first row says so", [{"currency": "JPY", **ARRAY},
                                                 {"line": "x", "line_price": "100.5"}],
     [(1, "line_price", "'100.5' has more decimals than JPY, which has none; round it to that")]),
    ("a tenth of a fils", [{"currency": "KWD", "line": "x", "line_price": "1.0005"}],
     [(0, "line_price", "'1.0005' has more decimals than KWD, which has 3")]),
    ("no day", [{"ship_by": "2026-02-30", **ARRAY}],
     [(0, "ship_by", "'2026-02-30' is not a date; write it as YYYY-MM-DD, such as 2026-03-31")]),
    ("old parts", [{"condition": "old", **ARRAY}],
     [(0, "condition", "'old' is not known; use new or any")]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "rows", "told"), WRONG, ids=[name for name, *_ in WRONG])
def test_rows_that_do_not_go_together(
    prices: PriceList, tmp_path: Path, name: str, rows: Rows, told: TOLD
) -> None:
    good = [quote(ARRAY, {"parts": "DISK-4T"}, name=number) for number in ("GOOD-1", "GOOD-2")]
    first, wrong, last = read(tmp_path, prices, good[0], quote(*rows), good[1])
    assert first.request is not None and last.request is not None
    assert wrong.request is None
    assert [row.row for row in wrong.rows] == [4 + n for n in range(len(rows))]
    problems = [problem for row in wrong.rows for problem in row.problems]
    listing = "\n".join(map(str, problems))
    for row in wrong.rows:
        assert {(p.file, p.row) for p in row.problems} <= {("asked.csv", row.row)}
        assert all(p.why and p.right for p in row.problems)
    for place, column, words in told:
        found = [p for p in wrong.rows[place].problems if p.column == column and words in str(p)]
        assert len(found) == 1, f"{place} {column}: {words} in\n{listing}"
        assert not found[0].value or found[0].value == quote(*rows)[place].get(column)
    assert len(problems) == len(told), listing


def test_rows_of_a_quote_stand_together(prices: PriceList, tmp_path: Path) -> None:
    one, two = quote(ARRAY, name="A"), quote(ARRAY, name="B")
    again = quote({"parts": "DISK-4X"}, {"line": "x"}, name="A")
    found = read(tmp_path, prices, one, two, again, quote(ARRAY, name="C"), one)
    assert [(asked.enquiry_id, asked.request is None) for asked in found] == [
        ("A", True), ("B", False), ("A", True), ("C", False), ("A", True),
    ]  # fmt: skip
    for asked, others in zip(found[::2], ("4 and 7", "2 and 7", "2 and 4"), strict=True):
        for row in asked.rows:
            told = [p for p in row.problems if p.column == "enquiry_id"]
            assert len(told) == 1
            assert f"'A' is there again, apart from here, from row {others} on" in str(told[0])
    # What else is wrong with a row is told too.
    assert [len(row.problems) for row in found[2].rows] == [2, 1]


def test_a_number_in_another_case_is_another_quote(prices: PriceList, tmp_path: Path) -> None:
    names = ["A", "a", "A-1"]
    found = read(tmp_path, prices, *(quote(ARRAY, name=name) for name in names))
    assert [asked.enquiry_id for asked in found if asked.request] == names


def test_rows_without_a_number_are_each_by_itself(prices: PriceList, tmp_path: Path) -> None:
    found = read(tmp_path, prices, [{"customer": "A", **ARRAY}, {"customer": "B", **ARRAY}])
    assert [len(asked.rows) for asked in found] == [1, 1]
    for asked in found:
        ((problem,),) = (row.problems for row in asked.rows)
        assert str(problem).endswith("enquiry_id: is blank; write a few words")


def test_a_row_of_the_wrong_shape_costs_its_whole_quote(prices: PriceList, tmp_path: Path) -> None:
    path = tmp_path / "asked.csv"
    path.write_text("enquiry_id,customer,usable_tb\nA,C,4\nA,\nB,C,4\n", encoding="utf-8")
    first, last = read_enquiries(path, prices)
    assert (first.request, last.request is None) == (None, False)
    assert [len(row.problems) for row in first.rows] == [0, 1]


@pytest.mark.parametrize(
    ("column", "first", "below"),
    [
        ("discount_pct", "5", "5.00"),
        ("max_price", "900", "900.0"),
        ("builds", "2", " 2 "),
        ("options", "BOOT; CPU-8*2", "BOOT;CPU-8;CPU-8"),
        ("customer", "Somebody", "Somebody"),
        ("currency", "EUR", "EUR"),
    ],
)
def test_what_means_the_same_may_stand_below(
    prices: PriceList, tmp_path: Path, column: str, first: str, below: str
) -> None:
    asked = [{"array": "a", column: first, **ARRAY}, {"array": "b", column: below, **ARRAY}]
    (same,) = read(tmp_path, prices, quote(*asked))
    (blank,) = read(tmp_path, prices, quote(asked[0], {**asked[1], column: ""}))
    assert same.request is not None
    assert same.request == blank.request


def test_the_keepers_own_columns_are_passed_over(prices: PriceList, tmp_path: Path) -> None:
    rows = quote(ARRAY, {"array": "b", **ARRAY})
    (asked,) = read(tmp_path, prices, [{**row, "x_colour": "red"} for row in rows], more="x_colour")
    assert asked.request is not None
    assert asked.request == read_request(rows, prices)
    assert asked.request == read_request([{**row, "x_colour": "red"} for row in rows], prices)
    with pytest.raises(InputError, match="colour: 'red' is not a known name"):
        read_request([{**rows[0], "colour": "red"}], prices)


def test_zeros_at_the_end_are_no_decimals(prices: PriceList) -> None:
    rows = [{"line": "x", "line_price": "-1.500", "line_cost": "2.0000"}]
    (line,) = order_rows(prices, *rows).lines
    assert (line.price, line.cost) == (Decimal("-1.5"), Decimal(2))
    (line,) = order_rows(prices, {"currency": "JPY", "line": "x", "line_price": "100.0"}).lines
    assert line.price == 100
    (line,) = order_rows(prices, {"currency": "KWD", "line": "x", "line_price": "1.005"}).lines
    assert line.price == Decimal("1.005")


def test_as_many_arrays_as_may_be(prices: PriceList) -> None:
    (server,) = order_rows(prices, *THIRTY[:MOST_ARRAYS]).servers
    assert len(server.arrays) == 6
    spread = [{**row, "server": f"s{n // 6}"} for n, row in enumerate(THIRTY)]
    assert [len(server.arrays) for server in order_rows(prices, *spread).servers] == [6] * 5


# What rows make together

MIXED: Rows = [
    {"currency": "EUR", "discount_pct": "3", "tax_code": "S", "server": "data", "array": "boot",
     "usable_tb": "1", "builds": "2", "cores": "8", "note": "First."},
    {"parts": "DISK-4T*2;CABLE", "line": "Trade-in", "line_quantity": "3", "line_price": "-20.5"},
    {"server": "archive", "usable_tb": "8", "level": "6", "accept": "no_redundancy",
     "note": "Second."},
    {"server": "data", "array": "big", "usable_tb": "4", "services": "VISIT", "note": "First."},
    {"services": "MOVE*2;VISIT", "parts": "DISK-4T", "line": "Carriage", "line_price": "12",
     "line_cost": "9.99"},
    {"server": "data", "services": "VISIT;CERT", "parts": "MODULE", "accept": "loss_over_limit"},
    {"server": "hosts", "chassis": "BOX-12", "options": "CPU-8", "builds": "3"},
]  # fmt: skip


def test_what_a_quote_is_made_of(prices: PriceList) -> None:
    asked = order_rows(prices, *MIXED)
    assert [server.name for server in asked.servers] == ["data", "archive", "hosts"]
    data, archive, hosts = asked.servers
    assert [row.array for row in data.arrays] == ["boot", "big"]
    assert [len(server.arrays) for server in (archive, hosts)] == [1, 0]
    # Loose parts and free lines in the order of the rows, wherever they stand.
    assert asked.parts == ("DISK-4T", "DISK-4T", "CABLE", "DISK-4T", "MODULE")
    assert [(line.words, line.quantity, line.price, line.cost) for line in asked.lines] == [
        ("Trade-in", 3, Decimal("-20.5"), 0),
        ("Carriage", 1, Decimal(12), Decimal("9.99")),
    ]
    # Services of a row that names a server are that server's, all others the quote's.
    assert asked.services == ("MOVE", "MOVE", "VISIT")
    assert data.base.value("services") == ("VISIT", "VISIT", "CERT")
    assert archive.base.value("services") is None
    assert list(asked.places()) == [
        (0, 0), (None, None), (1, 0), (0, 1), (None, None), (0, None), (2, None),
    ]  # fmt: skip
    assert asked.note == "First.\nSecond."


def test_what_the_first_rows_say_holds_below(prices: PriceList) -> None:
    asked = order_rows(prices, *MIXED)
    data, archive, _ = asked.servers
    assert {row.currency for row in asked.rows} == {"EUR"}
    assert {(row.discount_pct, row.tax_code) for row in asked.rows} == {(Decimal(3), "S")}
    assert {row.customer for row in asked.rows} == {"Somebody"}
    assert [row.builds for row in data.arrays] == [2, 2]
    assert [row.value("cores") for row in data.arrays] == [8, 8]
    assert (archive.base.builds, archive.base.value("cores")) == (1, None)
    # What a row says of its array is its own.
    assert [row.value("usable_tb") for row in data.arrays] == [1, 4]
    # The volume discount counts the builds of all servers, the price of one its own.
    assert (asked.deal.counted, asked.deal.builds) == (6, 6)
    assert [(s.base.deal.builds, s.base.deal.counted) for s in asked.servers] == [
        (2, 6), (1, 6), (3, 6),
    ]  # fmt: skip


def test_what_is_accepted_in_a_row_holds_for_its_server(prices: PriceList) -> None:
    asked = order_rows(prices, *MIXED)
    data, archive, hosts = asked.servers
    assert data.base.accept == ("loss_over_limit",)
    assert {row.accept for row in data.arrays} == {("loss_over_limit",)}
    assert archive.arrays[0].accept == ("no_redundancy",)
    assert hosts.base.accept == ()


def test_an_owned_chassis_and_any_condition_hold_for_the_server(prices: PriceList) -> None:
    asked = order_rows(
        prices,
        {"chassis": "BOX-12", "array": "a", "condition": "new", **ARRAY},
        {"array": "b", "drive": "DISK-8T", "owned": "chassis;drive", "condition": "any", **ARRAY},
    )
    (server,) = asked.servers
    assert server.base.owned == ("chassis",)
    assert [row.owned for row in server.arrays] == [("chassis",), ("chassis", "drive")]
    assert server.base.value("condition") == "any"
    # For its drive and controller a row's own condition counts.
    assert [row.value("condition") for row in server.arrays] == ["new", "any"]


def test_loose_parts_alone_are_a_quote(prices: PriceList) -> None:
    asked = order_rows(prices, {"parts": "DISK-4T"})
    assert asked.servers == ()
    assert (asked.deal.counted, asked.parts) == (0, ("DISK-4T",))


def test_one_row_may_ask_for_everything(prices: PriceList) -> None:
    cells = {**ARRAY, "parts": "DISK-4T", "line": "x", "services": "VISIT", "options": "BOOT"}
    asked = order_rows(prices, cells)
    assert (len(asked.servers), asked.parts, len(asked.lines)) == (1, ("DISK-4T",), 1)
    assert asked.services == ()
    assert asked.servers[0].arrays[0].value("services") == ("VISIT",)
    assert asked == single(asked.first)


def test_rows_written_and_read_again_are_the_same(prices: PriceList) -> None:
    asked = order_rows(prices, *MIXED)
    assert read_request([row.cells() for row in asked.rows], prices) == asked
    assert request(asked.rows) == asked


cells = st.fixed_dictionaries(
    {},
    optional={
        "customer": st.sampled_from(["", "Somebody", "Another"]),
        "currency": st.sampled_from(["", "GBP", "SEK"]),
        "server": st.sampled_from(["", "one", "two"]),
        "array": st.sampled_from(["", "a"]),
        "usable_tb": st.sampled_from(["", "4", "x"]),
        "drive": st.sampled_from(["", "DISK-4T"]),
        "chassis": st.sampled_from(["", "BOX-4", "BOX-5"]),
        "options": st.sampled_from(["", "BOOT"]),
        "builds": st.sampled_from(["", "1", "2", "0"]),
        "spares": st.sampled_from(["", "1"]),
        "owned": st.sampled_from(["", "chassis", "drive"]),
        "parts": st.sampled_from(["", "DISK-4T", "DISK-4T*0"]),
        "services": st.sampled_from(["", "VISIT", "MOVE"]),
        "line": st.sampled_from(["", "x"]),
        "line_price": st.sampled_from(["", "1", "1.005"]),
    },
)


@settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(cells, min_size=1, max_size=4))
def test_no_row_is_lost_and_none_is_wrong_without_a_word(
    prices: PriceList, tmp_path_factory: pytest.TempPathFactory, rows: Rows
) -> None:
    written = quote(*rows)
    folder = tmp_path_factory.mktemp("rows")
    (asked,) = read(folder, prices, written)
    assert len(asked.rows) == len(written)
    problems = [problem for row in asked.rows for problem in row.problems]
    assert (asked.request is None) == bool(problems)
    for row, own in zip(asked.rows, written, strict=True):
        # A problem shows what stands in its own row.
        assert all(p.value == own.get(p.column, "") for p in row.problems)
    if asked.request is not None:
        assert len(asked.request.rows) == len(written)
        arrays = sum(len(server.arrays) for server in asked.request.servers)
        assert arrays == sum(bool(row.get("usable_tb")) for row in written)
