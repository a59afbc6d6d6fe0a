"""A second reader of our workbooks: their formulas worked out anew, in decimals, by a few rules.

Numbers are taken as spreadsheets show them, with 15 digits at most, and ROUND goes half away from
zero (OpenFormula 1.2, 6.17.5; status: memory).
"""

import io
import re
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import openpyxl

from quotelib.catalogue.terms import minor_digits
from quotelib.documents.exports.xlsx import items
from quotelib.promise.record import QuoteRecord

_CELL = re.compile(r"([A-Z])(\d+)")
_TOKEN = re.compile(r"SUM\(([A-Z]\d+):([A-Z]\d+)\)|([A-Z]\d+)|(\d+(?:\.\d+)?)|([-+*()])")
_ROUND = re.compile(r"=ROUND\((.*),(\d)\)")


class Sheet:
    """The formulas of a sheet of openpyxl's, worked out."""

    def __init__(self, sheet: Any) -> None:
        self._sheet = sheet

    def value(self, cell: str) -> Decimal:
        """Work out one cell."""
        held = self._sheet[cell].value
        if not isinstance(held, str):
            return Decimal(0) if held is None else Decimal(f"{held:.15g}")
        found = _ROUND.fullmatch(held)
        assert found is not None, f"{cell}: {held!r} is no rounded sum"
        places = Decimal(1).scaleb(-int(found[2]))
        return self._worked_out(found[1]).quantize(places, ROUND_HALF_UP)

    def _worked_out(self, formula: str) -> Decimal:
        python, at = "", 0
        for token in _TOKEN.finditer(formula):
            assert token.start() == at, f"{formula}: {formula[at:]!r} is not understood"
            at = token.end()
            first, last, cell, number, sign = token.groups()
            if sign:
                python += sign
            else:
                value = self._sum(first, last) if first else self.value(cell) if cell else number
                python += f"Decimal('{value}')"
        assert at == len(formula), formula
        result = eval(python, {"Decimal": Decimal})
        assert isinstance(result, Decimal)
        return result

    def _sum(self, first: str, last: str) -> Decimal:
        top, bottom = _CELL.fullmatch(first), _CELL.fullmatch(last)
        assert top is not None and bottom is not None and top[1] == bottom[1]
        rows = range(int(top[2]), int(bottom[2]) + 1)
        return sum((self.value(f"{top[1]}{row}") for row in rows), Decimal(0))


def rows_by_label(sheet: Any) -> dict[str, int]:
    """Give the rows of sums by what is said of them."""
    return {
        str(sheet[f"C{row}"].value): row
        for row in range(2, sheet.max_row + 1)
        if sheet[f"A{row}"].value is None
    }


def check_sums(name: str, record: QuoteRecord) -> dict[str, Decimal]:
    """Check every line and sum against the record, worked out anew and as last worked out."""
    data = items(record)
    assert items(record) == data, f"{name}: other bytes"
    formulas, results = (
        openpyxl.load_workbook(io.BytesIO(data), data_only=only)["Items"] for only in (False, True)
    )
    places = Decimal(1).scaleb(-(minor_digits(record.currency) or 0))

    def told(cell: str) -> Decimal:
        shown = Decimal(f"{results[cell].value:.15g}").quantize(places, ROUND_HALF_UP)
        assert Sheet(formulas).value(cell).quantize(places) == shown, f"{name}, {cell}"
        return shown

    lines = [line for one in (*record.servers, *record.items) for line in one.lines]
    rows = [row for row in range(2, formulas.max_row + 1) if formulas[f"A{row}"].value]
    assert len(rows) == len(lines)
    for row, line in zip(rows, lines, strict=True):
        found = [results[f"{column}{row}"].value for column in "BCD"]
        assert found == [line.sku or None, line.description, line.quantity], name
        assert (told(f"E{row}"), told(f"F{row}")) == (line.unit_price, line.amount), name
    by_label, totals = rows_by_label(formulas), record.totals
    expected = {
        "Sum of lines": totals.lines_total,
        "Freight": totals.freight,
        "Total without tax": totals.net,
        "To pay": totals.gross,
        "Tax": totals.tax,
    }
    expected |= {"Less": -totals.discount} if totals.discount else {}
    sums = {}
    for label, amount in expected.items():
        (row,) = (n for said, n in by_label.items() if said.split(",")[0].split(":")[0] == label
                  or said.startswith(f"{label} "))  # fmt: skip
        sums[label] = told(f"F{row}")
        assert sums[label] == amount, f"{name}, {label}"
    subs = [told(f"F{row}") for said, row in by_label.items() if said.startswith("Sub-total")]
    groups = [one.lines_total for one in (*record.servers, *record.items) if one.lines]
    assert subs == (groups if len(record.servers) + len(record.items) > 1 else []), name
    return {"gross": sums["To pay"], "net": sums["Total without tax"]}
