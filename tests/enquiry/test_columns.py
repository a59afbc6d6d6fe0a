"""Is each column described once: README, form and file say the same."""

from quotelib import resources
from quotelib.enquiry.columns import COLUMNS, PINS, readme_table


def test_the_readme_has_the_table_of_the_columns() -> None:
    assert readme_table() in (resources.templates() / "README.md").read_text("utf-8")


def test_example_enquiries_name_columns_in_their_order() -> None:
    header = resources.demo_enquiries().read_text("utf-8").splitlines()[0].split(",")
    assert header == [name for name in COLUMNS if name in header]


def test_every_column_says_what_to_write() -> None:
    for column in COLUMNS.values():
        assert column.label and column.write, column.name
        assert column.required or column.blank or column.name == "note", column.name
    assert set(PINS) <= set(COLUMNS)
