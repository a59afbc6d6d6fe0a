"""Says where a written summary.csv, and records, differ from the second program's rows."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from pathlib import Path

from .comparing_places import place_differences
from .enquiry import ADVISE_CODES
from .reading import Row
from .reference import CODES_RULE, GROUP, ORDER_COLUMNS, SUMMARY_COLUMNS
from .stops import STOP_CODES

ESTIMATES = ("read_iops", "write_iops", "read_mb_s", "write_mb_s", "rebuild_hours", "loss_pct")
FILES = ("quote_file", "bench_file", "record_file")
# The contract names the date and gives no rule for it: `tests/ready` holds it against its own.
NOT_COMPARED = {"reason", "ship_date", *ESTIMATES, *FILES}
# Whether these stand on later rows of a quote, too, is not said; anything else there is wrong.
MAY_REPEAT = ("currency", "tax_code")
# A refused or invalid row may repeat what was asked (currency, tax code, pins), but
# there is no build to price, so these have to stay blank.
_FACTS = (
    "lines_total discount freight net tax gross margin_pct usable_bytes usable_tb usable_tib"
    " watts mass_kg lead_days"
)
FACTS_OF_A_BUILD = _FACTS.split()
# A search with open pins may try more drives than there are bays, so it may name these.
ALWAYS_NAMEABLE = {
    "member_count",
    "bays_full",
    "too_many_drives",
    "ports_short",
    "power",
    "level_not_offered",
}


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


def drags_along(reason: str) -> bool:
    """Whether a reason only says ``with`` which row its own fails."""
    return re.match(r"with\b", reason) is not None


def code_differences(reasons: list[str], expected: Row) -> list[str]:
    """Compare the finding codes that the rows of a group name with those they have to name."""
    rule = expected[CODES_RULE]
    codes = set(expected["reason"].split())
    own = " ".join(reason for reason in reasons if not drags_along(reason))
    if expected["outcome"] == "refused" and rule != "with" and not own:
        return ["no row of the server says why it is refused"]
    if rule == "advise":
        given = named(own, ADVISE_CODES)
        return [] if given == codes else [f"reason names {sorted(given)}, not {sorted(codes)}"]
    given = named(own, STOP_CODES)
    if rule == "all" and given != codes:
        return [f"reason names {sorted(given)}, not {sorted(codes)}"]
    if rule == "some" and not given:
        return [f"reason names no stop code, but {sorted(codes)} stop every build"]
    if rule == "some" and not given <= codes | ALWAYS_NAMEABLE:
        return [f"reason names {sorted(given - codes)}, which stops no build tried"]
    return []


def whose_differences(reason: str, expected: Row) -> list[str]:
    """Compare whether a row says a reason of its own or ``with`` another row."""
    refers = drags_along(reason)
    if expected[CODES_RULE] == "with" and not refers:
        return [f"reason is {reason!r}, but another row is at fault: it has to start with 'with'"]
    if expected[CODES_RULE] == "own" and (refers or not reason):
        return [f"reason is {reason!r}, but the row itself is wrong: {expected['reason']}"]
    return []


def row_differences(written: Row, expected: Row, first: Row) -> list[str]:
    """Compare one row of the summary; `first` is what is expected of the quote's first row."""
    if written["outcome"] != expected["outcome"]:
        build = " ".join(expected[c] for c in ("chassis", "controller", "drive", "level"))
        return [
            f"outcome is {written['outcome']!r} ({written['reason']}), not"
            f" {expected['outcome']!r} ({expected['reason'] or build.strip()})"
        ]
    columns = [c for c in written if c not in NOT_COMPARED]
    if expected["outcome"] in ("refused", "invalid"):
        columns = FACTS_OF_A_BUILD
    differences = [
        f"{column} is {written[column]!r}, not {expected[column]!r}"
        for column in columns
        if not same_text(written[column], expected[column])
        and not (column in MAY_REPEAT and written[column] in ("", first[column]))
    ]
    return differences + whose_differences(written["reason"], expected)


def group_differences(pairs: list[tuple[Row, Row]]) -> Iterator[tuple[Row, str]]:
    """Compare reasons group by group: those of a server, or of a whole quote."""
    groups: dict[str, list[tuple[Row, Row]]] = {}
    for pair in pairs:
        groups.setdefault(pair[1][GROUP], []).append(pair)
    for rows in groups.values():
        expected = rows[0][1]
        if all(written["outcome"] == wanted["outcome"] for written, wanted in rows):
            reasons = [written["reason"] for written, _ in rows]
            for text in code_differences(reasons, expected):
                yield expected, text


def compare(
    summary_csv_path: Path,
    reference_rows: list[Row],
    records: Path | None = None,
    columns: tuple[str, ...] | None = None,
) -> list[str]:
    """Compare a summary, and records where they are given, with the second program's rows.

    Parameters
    ----------
    summary_csv_path : Path
        The `summary.csv` of a batch.
    reference_rows : list of dict
        What `reference.reference_rows` returned for the same price list and enquiries.
    records : Path, optional
        A folder of record files, ``ID.json`` for each quote that was answered: then the places
        of cards and drives are compared, too.
    columns : tuple of str, optional
        The header there has to be; by default that of either contract.

    Returns
    -------
    list of str
        One difference each, naming row, enquiry and column; empty if there is none. Columns
        of estimates and files are not compared, and of `reason` only the finding codes, and
        who is at fault: the rows of a held quote name together exactly the `advise` findings
        without a yes; the rows of a refused server whose pins leave one build name exactly its
        `stop` findings, and where every build was stopped at least one of their codes; rows
        that are dragged along start with ``with``.
    """
    with summary_csv_path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file, restval="")
        header = tuple(reader.fieldnames or ())
        written_rows = list(reader)
    allowed = (ORDER_COLUMNS, SUMMARY_COLUMNS) if columns is None else (columns,)
    if header not in allowed:
        return [f"header is {','.join(header)}, not {','.join(allowed[0])}"]
    differences = []
    if len(written_rows) != len(reference_rows):
        differences.append(f"{len(written_rows)} rows, not {len(reference_rows)}")
    pairs: list[tuple[Row, Row]] = []
    first: dict[str, Row] = {}
    for place, (written, expected) in enumerate(
        zip(written_rows, reference_rows, strict=False), start=2
    ):
        where = f"row {place}, enquiry {expected['enquiry_id']!r}"
        if written["enquiry_id"] != expected["enquiry_id"]:
            differences.append(f"{where}: enquiry_id is {written['enquiry_id']!r}")
            continue
        pairs.append((written, expected))
        of_quote = first.setdefault(expected["enquiry_id"], expected)
        texts = row_differences(written, expected, of_quote)
        differences += [f"{where}: {text}" for text in texts]
    for expected, text in group_differences(pairs):
        differences.append(f"enquiry {expected[GROUP]!r}: {text}")
    if records is not None:
        differences += place_differences(records, reference_rows)
    return differences
