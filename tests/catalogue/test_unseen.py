"""Is what nobody can see in a cell told, and what a script needs let through?"""

from pathlib import Path

import pytest

from quotelib.catalogue.price_list import read_folder
from tests.catalogue.breaking import CONTROLLERS, DRIVES, cell


@pytest.mark.parametrize(
    ("file", "column", "value", "words"),
    [
        (CONTROLLERS, "levels", "5\n", "'5�' has a line break in it; delete the cell and type it"),
        (CONTROLLERS, "levels", "0;1\n;5", "has a line break in it"),
        (CONTROLLERS, "levels", "5\u200b", "has an invisible character, U+200B (zero width space)"),
        (DRIVES, "unit_price", "100\r\n", "has a line break in it"),
        (DRIVES, "unit_price", "1\u00ad00", "U+00AD (soft hyphen)"),
        (DRIVES, "media", "\ufeffhdd", "U+FEFF (zero width no-break space)"),
        (DRIVES, "sku", "DISK\u2028-4T", "U+2028 (line separator)"),
        (DRIVES, "description", "Disk\x1b[31m", "U+001B (a control character)"),
        (DRIVES, "description", "Disk \u202egnp", "U+202E (right-to-left override)"),
        (DRIVES, "description", "\u3164", "U+3164 (hangul filler)"),
        (DRIVES, "description", "\u200d\u200f", "is blank; write a few words"),
    ],
)  # fmt: skip
def test_what_cannot_be_seen_is_told(
    file: str, column: str, value: str, words: str, copy_of_small: Path
) -> None:
    row = 3 if file == CONTROLLERS else 2
    cell(file, row, column, value)(copy_of_small)
    told = [p for p in read_folder(copy_of_small)[1] if p.column == column and p.row == row]
    assert len(told) == 1
    assert words in str(told[0])
    assert str(told[0]).isprintable()


@pytest.mark.parametrize(
    "value",
    [
        "קבוצת \u2067המגדלור\u2069\u200f",
        "نمی\u200cدانم",
        "\N{MAN}\u200d\N{PERSONAL COMPUTER} \N{HEAVY BLACK HEART}\ufe0f",
        "\U0001f3f4\U000e0067\U000e0062\U000e0073\U000e0063\U000e0074\U000e007f",
        "two\nlines",
        "no\u00a0break",
    ],
    ids=["isolate", "non-joiner", "joined emoji", "flag", "two lines", "hard space"],
)
def test_what_a_script_needs_may_stand(value: str, copy_of_small: Path) -> None:
    cell(DRIVES, 2, "description", value)(copy_of_small)
    price_list, problems = read_folder(copy_of_small)
    assert problems == []
    assert price_list is not None
    assert price_list.drives["DISK-4T"].description == value
