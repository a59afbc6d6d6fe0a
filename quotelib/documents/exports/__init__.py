"""The documents of a quote that are no pages: each renders the record, and nothing else."""

from typing import Final

EXPORTS: Final = {
    "pdf": ("quotes", "the quote page as a PDF"),
    "xlsx": ("items", "the lines as a workbook"),
    "ubl": ("ubl", "a UBL 2.1 Quotation"),
}
"""What can be asked for beside the pages: the room that its files go to, and what it is."""
ENDINGS: Final = {"pdf": "pdf", "xlsx": "xlsx", "ubl": "xml"}


def file_of(export: str, stem: str) -> str:
    """Name the file of an export, below the folder of its run."""
    return f"{EXPORTS[export][0]}/{stem}.{ENDINGS[export]}"
