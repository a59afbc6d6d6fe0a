"""Says where a written summary.csv differs from the second program's rows."""

from __future__ import annotations

import csv
import re
from decimal import Decimal, InvalidOperation
from pathlib import Path

from .enquiry import ADVISE_CODES
from .reading import Row
from .reference import CODES_RULE, SUMMARY_COLUMNS
from .rules import STOP_CODES

ESTIMATES = ("read_iops", "write_iops", "read_mb_s", "write_mb_s", "rebuild_hours", "loss_pct")
FILES = ("quote_file", "bench_file", "record_file")
NOT_COMPARED = {"reason", *ESTIMATES, *FILES}
# A refused or invalid row may repeat what was asked (currency, tax code, pins), but
# there is no build to price, so these have to stay blank.
_FACTS = (
    "lines_total discount freight net tax gross margin_pct usable_bytes usable_tb usable_tib"
    " watts mass_kg lead_days"
)
FACTS_OF_A_BUILD = _FACTS.split()
# A search with open pins may try more drives than there are bays, so it may name these.
ALWAYS_NAMEABLE = {"member_count", "bays_full", "too_many_drives", "power", "level_not_offered"}


def same_text(written: str, expected: str) -> bool:
    """Whether two cells are the same; ``-0.00`` and ``0.00`` are."""
    if written == expected:
        return True
    try:
        equal = Decimal(written) == Decimal(expected) == 0
    except InvalidOperation:
        return False
    return equal and written.lstrip("-") == expected.lstrip("-")


def named(reason: str, codes: tuple[str, ...]) -> set[str]:
    """Pick out the finding codes that a reason names as whole words."""
    return set(re.findall(r"[a-z_]+", reason)) & set(codes)


def code_differences(reason: str, expected: Row) -> list[str]:
    """Compare the finding codes a reason names with those it has to name."""
    rule = expected[CODES_RULE]
    codes = set(expected["reason"].split())
    if rule == "advise":
        given = named(reason, ADVISE_CODES)
        return [] if given == codes else [f"reason names {sorted(given)}, not {sorted(codes)}"]
    given = named(reason, STOP_CODES)
    if rule == "all" and given != codes:
        return [f"reason names {sorted(given)}, not {sorted(codes)}"]
    if rule == "some" and not given:
        return [f"reason names no stop code, but {sorted(codes)} stop every build"]
    if rule == "some" and not given <= codes | ALWAYS_NAMEABLE:
        return [f"reason names {sorted(given - codes)}, which stops no build tried"]
    return []


def row_differences(written: Row, expected: Row) -> list[str]:
    """Compare one row of the summary."""
    if written["outcome"] != expected["outcome"]:
        build = " ".join(expected[c] for c in ("chassis", "controller", "drive", "level"))
        return [
            f"outcome is {written['outcome']!r} ({written['reason']}), not"
            f" {expected['outcome']!r} ({expected['reason'] or build.strip()})"
        ]
    columns = [c for c in SUMMARY_COLUMNS if c not in NOT_COMPARED]
    if expected["outcome"] in ("refused", "invalid"):
        columns = FACTS_OF_A_BUILD
    differences = [
        f"{column} is {written[column]!r}, not {expected[column]!r}"
        for column in columns
        if not same_text(written[column], expected[column])
    ]
    return differences + code_differences(written["reason"], expected)


def compare(summary_csv_path: Path, reference_rows: list[Row]) -> list[str]:
    """Compare a summary with the second program's rows.

    Parameters
    ----------
    summary_csv_path : Path
        The `summary.csv` of a batch.
    reference_rows : list of dict
        What `reference.reference_rows` returned for the same price list and enquiries.

    Returns
    -------
    list of str
        One difference each, naming row, enquiry and column; empty if there is none. Columns
        of estimates and files are not compared, and of `reason` only the finding codes:
        a held row names exactly the `advise` findings without a yes; a refused row whose
        pins leave one build names exactly its `stop` findings; a refused row whose every
        build was stopped names at least one of their codes.
    """
    with summary_csv_path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, restval="")
        header = tuple(reader.fieldnames or ())
        written_rows = list(reader)
    if header != SUMMARY_COLUMNS:
        return [f"header is {','.join(header)}, not {','.join(SUMMARY_COLUMNS)}"]
    differences = []
    if len(written_rows) != len(reference_rows):
        differences.append(f"{len(written_rows)} rows, not {len(reference_rows)}")
    pairs = zip(written_rows, reference_rows, strict=False)
    for place, (written, expected) in enumerate(pairs, start=2):
        where = f"row {place}, enquiry {expected['enquiry_id']!r}"
        if written["enquiry_id"] != expected["enquiry_id"]:
            differences.append(f"{where}: enquiry_id is {written['enquiry_id']!r}")
            continue
        differences += [f"{where}: {text}" for text in row_differences(written, expected)]
    return differences
