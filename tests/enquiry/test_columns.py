"""Is each column described once: README, form and file say the same."""

import json
import subprocess
import sys

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


ONE_ROW_MORE = """
import json
from quotelib.levels import LEVELS, Level

LEVELS["T0"] = Level("T0", 5, None, 1, 3, 1, True, "Each span has three drives' worth of parity.")
from quotelib.enquiry.columns import COLUMNS

print(json.dumps({name: [column.help, column.write] for name, column in COLUMNS.items()}))
"""


def test_a_level_more_is_named_wherever_levels_are_listed() -> None:
    done = subprocess.run(
        [sys.executable, "-c", ONE_ROW_MORE], capture_output=True, text=True, check=True
    )
    said = json.loads(done.stdout)
    changed = {name for name, c in COLUMNS.items() if said[name] != [c.help, c.write]}
    assert changed == {"level", "spans", "survive"}
    assert "T0" in said["level"][1]
    assert all("T0" in words for words in said["spans"])
    assert said["survive"][0].endswith("2 or 3")
