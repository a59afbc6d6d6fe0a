"""What does the bench hand back: fio's files, held against a record and kept beside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from quotelib.documents.batch.files import SELLERS_FOLDERS, write_aside
from quotelib.documents.batch.lock import alone_in
from quotelib.documents.quoting import read_record
from quotelib.errors import InputError, Problem, shown
from quotelib.measured.compare import Compared, asked_of, compare
from quotelib.measured.kept import beside, read_kept
from quotelib.measured.output import read_output
from quotelib.measured.words import matching
from quotelib.text import count


@dataclass(frozen=True, slots=True)
class Told:
    """What was measured, where it is kept, and how many measurements that file has now."""

    compared: Compared
    file: Path
    kept: int


def measure(record_file: Path, files: Sequence[Path]) -> Told:
    """Hold files of fio's against the record of a quote, and keep what was measured beside it.

    Raises
    ------
    InputError
        Where a file cannot be read, nothing in them belongs to the record, or somebody else is
        writing into its folder. Nothing is written then.
    OSError
        Where the folder of the record cannot be written.
    """
    record = read_record(record_file)
    asked = asked_of(record)
    outputs = [read_output(path, frozenset(asked)) for path in files]
    compared = compare(record, asked, outputs)
    if not any(output.ran for output in outputs):
        names = ", ".join(dict.fromkeys(name for one in outputs for name in one.names))
        why = f"has no job that {record_file.name} asks for"
        right = "these would match: " + "; ".join(matching(asked))
        raise InputError([Problem(files[0].name, None, "jobname", shown(names), why, right)])
    file = beside(record_file)
    folder = record_file.absolute().parent
    # A batch may be moving what is in there.
    with alone_in(folder.parent if folder.name in SELLERS_FOLDERS else folder):
        kept = read_kept(file).with_more(compared.measurements)
        if compared.measurements:
            write_aside(file, kept.to_json())
    return Told(compared, file, len(kept.measurements))


def lines(told: Told) -> list[str]:
    """Say what could not be used, and where the rest is kept."""
    said = [f"FAILED: {what}: nothing of it counts" for what in told.compared.failed]
    said += [f"Of no quote: {what}" for what in told.compared.unused]
    if told.kept:
        said.append(f"Kept in {told.file}: {count(told.kept, 'measurement')}, for you only.")
    return said
