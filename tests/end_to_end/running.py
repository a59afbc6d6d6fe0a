"""How the tests run the installed command, and read what it wrote."""

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from quotelib.resources import demo_enquiries

DATE = "2026-11-25"
ROOT = Path(__file__).resolve().parents[2]


def command() -> str:
    """Give the console script that was installed beside this Python."""
    found = shutil.which("quotelib", path=str(Path(sys.executable).parent))
    assert found is not None, f"no quotelib command beside {sys.executable}: pip install -e ."
    return found


def run(
    *arguments: str | Path,
    cwd: Path | None = None,
    env: Mapping[str, str] | None = None,
    program: tuple[str, ...] | None = None,
) -> subprocess.CompletedProcess[str]:
    """Run the command (or another program) and wait for it."""
    return subprocess.run(
        [*(program or (command(),)), *map(str, arguments)],
        cwd=cwd,
        env={**os.environ, **(env or {})},
        capture_output=True,
        encoding="utf-8",
        errors="replace",
        timeout=300,
        check=False,
    )


@dataclass(frozen=True)
class Batch:
    """An output folder, and how the command that wrote it ended."""

    folder: Path
    status: int
    stdout: str
    stderr: str

    def rows(self) -> list[dict[str, str]]:
        """Read ``summary.csv``."""
        return read_csv(self.folder / "summary.csv")

    def records(self) -> dict[str, dict[str, Any]]:
        """Read every record, by its enquiry id."""
        paths = sorted((self.folder / "records").glob("*.json"))
        records = [json.loads(path.read_text("utf-8")) for path in paths]
        return {record["enquiry_id"]: record for record in records}

    def offers(self) -> list[Path]:
        """List the offers."""
        annexes = self.annexes()
        return [path for path in sorted((self.folder / "quotes").iterdir()) if path not in annexes]

    def annexes(self) -> list[Path]:
        """List the annexes."""
        return sorted((self.folder / "quotes").glob("*-annex.html"))


def read_csv(path: Path) -> list[dict[str, str]]:
    """Read a CSV file as rows by column."""
    text = path.read_text("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def write_csv(path: Path, rows: list[dict[str, str]]) -> Path:
    """Write rows as an enquiry file, with the columns that any of them has."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


def all_files(folder: Path) -> dict[str, bytes]:
    """Read every file below a folder, by its path from there."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def some_examples(demo: Batch, path: Path, *columns: str) -> Path:
    """Write a file with the first example of each value that the summary has in some columns."""
    rows = demo.rows()
    wanted = {
        next(row["enquiry_id"] for row in rows if row[column] == value)
        for column in columns
        for value in {row[column] for row in rows}
    }
    return write_csv(path, [r for r in read_csv(demo_enquiries()) if r["enquiry_id"] in wanted])


def same_as(demo: Batch, folder: Path) -> None:
    """Check that a batch of some of the examples gave what the whole batch gave for them."""
    some, whole = Batch(folder, 0, "", "").rows(), demo.rows()
    names = {row["enquiry_id"] for row in some}
    for row in (*some, *whole):
        if row["outcome"] == "invalid":
            del row["reason"]  # names the row of the file
    assert some == [row for row in whole if row["enquiry_id"] in names]
    every = all_files(demo.folder)
    first = {
        n: data
        for n, data in every.items()
        if Path(n).name.split(".")[0].removesuffix("-annex") in names
    }
    whole_run = {"summary.csv", "run.json", "SELLER_ONLY.txt"}
    second = {n: data for n, data in all_files(folder).items() if n not in whole_run}
    assert second and list(first) == list(second)
    assert [name for name in first if first[name] != second[name]] == []
