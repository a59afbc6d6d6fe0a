"""Tax numbers: those with a known form are checked by their digits, and by nothing else.

The sound ones are made here by each country's published rule, worked out anew; none is anybody's
that we know of. Rules: Germany ISO 7064 MOD 11,10 (memory); United Kingdom, weights 8 to 2 and 97
(memory); France, 12 + 3 x SIREN mod 97 (memory); Austria, doubled digits, 96 (memory); Switzerland,
weights 5 4 3 2 7 6 5 4 mod 11 (memory).
"""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotelib.catalogue.price_list import read_folder
from quotelib.catalogue.tax_numbers import tax_number_wrong


def german(number: int) -> str:
    text, product = f"{10_000_000 + number % 90_000_000}", 10
    for digit in map(int, text):
        total = (digit + product) % 10 or 10
        product = 2 * total % 11
    return f"DE{text}{(11 - product) % 10}"


def british(number: int) -> str:
    text = f"{1_000_000 + number % 8_000_000}"
    total = sum(weight * int(digit) for weight, digit in zip(range(8, 1, -1), text, strict=True))
    check = -total % 97
    return f"GB{text}{check:02d}"


def french(number: int) -> str:
    body = f"{10_000_000 + number % 90_000_000}"
    # SIREN: Luhn's check digit.
    doubled = sum(sum(divmod(2 * int(d), 10)) for d in body[::-1][::2]) + sum(
        map(int, body[::-1][1::2])
    )
    siren = f"{body}{-doubled % 10}"
    return f"FR{(12 + 3 * int(siren)) % 97:02d}{siren}"


def austrian(number: int) -> str:
    text = f"{1_000_000 + number % 9_000_000}"
    total = sum(sum(divmod(int(d) * (1 + i % 2), 10)) for i, d in enumerate(text))
    return f"ATU{text}{(96 - total) % 10}"


def swiss(number: int) -> str:
    text = f"{10_000_000 + number % 90_000_000}"
    weights = (5, 4, 3, 2, 7, 6, 5, 4)
    check = -sum(w * int(d) for w, d in zip(weights, text, strict=True)) % 11
    return f"CHE-{text[:3]}.{text[3:6]}.{text[6:]}{check} MWST" if check < 10 else swiss(number + 1)


RULES = [german, british, french, austrian, swiss]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
@given(number=st.integers(0, 10**8), step=st.integers(1, 9))
def test_a_sound_number_is_left_alone_and_a_slip_is_told(
    rule: Callable[[int], str], number: int, step: int
) -> None:
    text = rule(number)
    assert tax_number_wrong(text) == "", text
    assert tax_number_wrong(f" {text[:2].lower()} {text[2:]} ") == ""
    last = [place for place, sign in enumerate(text) if sign.isdigit()][-1]
    slip = f"{text[:last]}{(int(text[last]) + step) % 10}{text[last + 1 :]}"
    assert "its check digits do not agree" in tax_number_wrong(slip), slip


@pytest.mark.parametrize(
    "text",
    [
        "", "DEMO-GB-0001", "DEMO-DE-1005", "12345678", "not registered", "IT-Musterfirma",
        "US12-3456789", "ZZ999999999", "SE-2026-1", "DE", "GB", "EU123",
        "Steuernummer 12/345/67890", "No. CO 12345678", "ΕΛ094259217", "GBGD001",
    ],
)  # fmt: skip
def test_what_is_not_known_is_left_alone(text: str) -> None:
    assert tax_number_wrong(text) == ""


@pytest.mark.parametrize("text", ["DE13669597", "DE1366959766", "GB 98078068"])
def test_a_digit_too_few_or_too_many(text: str) -> None:
    digits = len(re.sub(r"\D", "", text))
    assert f"which never has {digits} digits like this" in tax_number_wrong(text)


def test_file_row_column_value_why_and_right(copy_of_starter: Path) -> None:
    customers, terms = copy_of_starter / "customers.csv", copy_of_starter / "terms.toml"
    customers.write_text(customers.read_text("utf-8").replace("DEMO-GB-1002", "GB980780685"))
    terms.write_text(terms.read_text("utf-8").replace("DEMO-GB-0001", "DE136695978"))
    price_list, problems = read_folder(copy_of_starter)
    assert price_list is None
    assert [str(problem) for problem in problems] == [
        "customers.csv, row 3, tax_id: 'GB980780685' looks like a tax number of GB, but its check "
        "digits do not agree; copy it from a letter of theirs; put a word before what is another "
        "kind of number",
        "terms.toml, seller.tax_id: 'DE136695978' looks like a tax number of DE, but its check "
        "digits do not agree; copy it from a letter of the tax office",
    ]
