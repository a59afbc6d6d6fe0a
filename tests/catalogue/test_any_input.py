"""Can anything at all stand in a price list without a traceback: hypothesis over its bytes."""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from quotelib.catalogue.price_list import read_folder
from tests.catalogue.breaking import TERMS_TOML, cell, whole
from tests.small_list import TABLES, write

places = st.sampled_from(
    [(file, row, column) for file, rows in TABLES.items() for row in (2, 3) for column in rows[0]
     if row - 2 < len(rows)]
)  # fmt: skip
texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=40) | st.sampled_from(
    ["-0", "1e-30", "9" * 31, "+1", ".5", "1.", "0x10", "1e5", ";", ";;a", "sata;", "TRUE", "''"]
)


@settings(deadline=None, max_examples=200)
@given(places, texts)
def test_whatever_stands_in_a_cell_is_taken_or_told(place: tuple[str, int, str], text: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = write(Path(name))
        cell(*place, text)(folder)
        price_list, problems = read_folder(folder)
    assert (price_list is None) == bool(problems)
    for problem in problems:
        assert problem.why
        assert problem.right
        assert str(problem).isprintable()


@settings(deadline=None, max_examples=100)
@given(st.sampled_from([*TABLES, TERMS_TOML]), st.integers(0, 2000), st.binary(max_size=4))
def test_whatever_bytes_stand_in_a_file_are_taken_or_told(file: str, at: int, new: bytes) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = write(Path(name))
        whole(file, lambda data: data[:at] + new + data[at + 2 :])(folder)
        price_list, problems = read_folder(folder)
    assert (price_list is None) == bool(problems)
    assert all(str(problem).isprintable() for problem in problems)
