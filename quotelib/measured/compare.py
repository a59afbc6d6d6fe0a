"""Is it as quoted: jobs matched to the arrays of a record, and each figure to its range."""

import hashlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from quotelib import __version__
from quotelib.errors import shown
from quotelib.measured.figures import Found, found_in, less_is_better
from quotelib.measured.jobs import ArrayTrial, Job, trials
from quotelib.measured.kept import FigureMeasured, Measurement, Where
from quotelib.measured.options import differences
from quotelib.measured.output import Output, Ran, each_side, mean_ms
from quotelib.predict.estimate import Estimate
from quotelib.promise.record import QuoteRecord

Asked = dict[str, tuple[ArrayTrial, Job]]
"""Of each job that belongs to a record, by its name: its array, and how it is to be run."""


@dataclass(frozen=True, slots=True)
class Compared:
    """What came of outputs: what was measured, jobs that are not ours, and ours that failed."""

    measurements: tuple[Measurement, ...]
    unused: tuple[str, ...]
    failed: tuple[str, ...]

    @property
    def all_as_quoted(self) -> bool:
        """Tell whether every job gave figures, and none of them is worse than its range."""
        worse = any(found.worse for one in self.measurements for found in one.figures)
        return not worse and not self.failed


def asked_of(record: QuoteRecord) -> Asked:
    """List the jobs that measure what a record says."""
    return {of.name(job.key): (of, job) for of in trials(record) for job in of.jobs}


def compare(record: QuoteRecord, asked: Asked, outputs: Sequence[Output]) -> Compared:
    """Hold what fio measured against what was quoted."""
    mark = hashlib.sha256(record.to_json().encode("utf-8")).hexdigest()
    measured, unused, failed = [], [], []
    for output in outputs:
        if others := [name for name in output.names if name not in asked]:
            unused.append(f"{output.file}: {shown(', '.join(others), 200)}")
        for ran in output.ran:
            of, job = asked[ran.name]
            figures = () if ran.error else tuple(_figures(of, job, ran))
            if not figures:
                why = f"ended with error {ran.error}" if ran.error else "gave no figure"
                failed.append(f"{output.file}: {ran.name} {why}")
                continue
            array = of.array
            measured.append(
                Measurement(
                    job=ran.name,
                    when=output.when,
                    fio_version=output.version,
                    program_version=__version__,
                    record_sha256=mark,
                    quote_number=record.quote_number,
                    array=of.called,
                    controller=array.controller,
                    drive=array.drive,
                    level=array.layout.level,
                    layout=array.words,
                    load=array.outlook.load,
                    figures=figures,
                    doubts=tuple(differences(job, ran)),
                )
            )
    return Compared(tuple(measured), tuple(unused), tuple(failed))


def _figures(of: ArrayTrial, job: Job, ran: Ran) -> Iterator[FigureMeasured]:
    for estimate in of.array.estimates:
        found = found_in(estimate.key)
        if found is None or found.job != job.key or estimate.value is None:
            continue
        measured = _measured(ran, found)
        if measured is not None and math.isfinite(measured):
            yield _judged(estimate, estimate.value, measured)


def _judged(estimate: Estimate, value: float, measured: float) -> FigureMeasured:
    where: Where = "inside"
    if estimate.low is not None and measured < estimate.low:
        where = "below"
    elif estimate.high is not None and measured > estimate.high:
        where = "above"
    return FigureMeasured(
        key=estimate.key,
        name=estimate.name,
        unit=estimate.unit,
        low=estimate.low,
        value=value,
        high=estimate.high,
        measured=float(f"{measured:.6g}"),
        where=where,
        worse=where == ("above" if less_is_better(estimate.key) else "below"),
    )


def _measured(ran: Ran, found: Found) -> float | None:
    """Take a figure from a job; None: it does not tell."""
    sides = list(each_side(ran, found.of))
    if not sides:
        return None
    if found.what == "iops":
        return sum(side.iops for side in sides)
    if found.what == "mb_s":
        return sum(side.mb_s for side in sides)
    if found.what == "percentile_ms":
        told = [side.percentiles_ms.get(found.percentile) for side in sides]
        # Of reads and writes together it does not follow from that of each.
        return told[0] if len(told) == 1 else None
    return mean_ms(sides)
