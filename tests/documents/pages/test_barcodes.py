"""Barcodes as drawn, read back by another library; `test_bench_sheet` reads those of a sheet."""

from __future__ import annotations

import io
import re

import pytest
import vl_convert
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image

from quotelib.catalogue.price_list import PriceList
from quotelib.documents.barcodes import (
    CELL_MM,
    HEIGHT_MM,
    MODULE_MM,
    NARROW_MM,
    ROW_MM,
    Barcode,
    code128,
)
from tests.documents.scanning import read

DOTS_PER_MM = 300 / 25.4  # an office printer's 300 dots an inch


def as_printed(code: Barcode) -> Image.Image:
    """Draw it at a printer's dots, on white."""
    height = round(HEIGHT_MM * DOTS_PER_MM)
    width = round(code.width_mm * DOTS_PER_MM)
    svg = re.sub(
        r'width="[^"]+mm" height="[^"]+mm"', f'width="{width}" height="{height}"', code.svg
    )
    svg = svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    drawn = Image.open(io.BytesIO(vl_convert.svg_to_png(svg))).convert("RGBA")
    paper = Image.new("RGBA", drawn.size, "white")
    paper.alpha_composite(drawn)
    return paper.convert("L")


def test_every_sku_of_the_starter_list_is_read_back(starter: PriceList) -> None:
    parts = (starter.drives, starter.controllers, starter.chassis, starter.accessories)
    for sku in (sku for part in parts for sku in part):
        code = code128(sku, CELL_MM)
        assert code is not None, sku
        ((text, kind),) = read(as_printed(code))
        assert text == sku
        assert "128" in kind


@pytest.mark.parametrize("sku", ["99", "9999", "99A", "A99", "99-HDD-8T", "12", "7", "0099"])
def test_digits_are_read_back(sku: str) -> None:
    code = code128(sku, ROW_MM)
    assert code is not None
    assert [text for text, _ in read(as_printed(code))] == [sku]


@settings(max_examples=150, deadline=None)
@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=80))
@example("0-00000c000")
def test_any_sku_that_fits_is_read_back_or_refused(text: str) -> None:
    sku = text.strip()
    if not sku:
        return
    code = code128(sku, ROW_MM)
    assert code is not None, "80 characters fit a row of their own"
    assert code.width_mm <= ROW_MM + 1e-6
    modules = int(re.search(r'viewBox="0 0 (\d+) ', code.svg)[1])  # type: ignore[index]
    assert NARROW_MM - 1e-9 <= code.width_mm / modules <= MODULE_MM + 1e-9
    assert [text for text, _ in read(as_printed(code))] == [sku]


def test_what_code_128_does_not_hold_is_said() -> None:
    assert code128("Müller-1", CELL_MM) is None
    assert code128("ディスク", ROW_MM) is None
    assert code128("", ROW_MM) is None
    assert code128("X" * 60, CELL_MM) is None, "too narrow to be read in the column"


def test_a_barcode_has_no_script_and_says_what_it_is() -> None:
    code = code128('A"<&>', CELL_MM)
    assert code is not None
    assert 'aria-label="barcode of A&quot;&lt;&amp;&gt;"' in code.svg
