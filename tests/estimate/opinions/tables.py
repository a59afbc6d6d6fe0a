"""The comparison on paper: tables, and what they come to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Protocol

COMMAND = ".venv/bin/python -m tests.estimate.opinions.compare"
WITHIN = 1.3


class Compared(Protocol):
    """A figure quoted with its range, and simulated with its standard error."""

    @property
    def build(self) -> str: ...
    @property
    def load(self) -> str: ...
    @property
    def key(self) -> str: ...
    @property
    def low(self) -> float: ...
    @property
    def value(self) -> float: ...
    @property
    def high(self) -> float: ...
    @property
    def simulated(self) -> float: ...
    @property
    def error(self) -> float: ...
    @property
    def inside(self) -> bool: ...
    @property
    def ratio(self) -> float: ...


_TITLES = {
    "host_iops": ("Operations a second", "a second"),
    "response_ms": ("Mean time of one operation", "ms"),
    "rebuild_hours, idle": ("Rebuild beside an idle host", "h"),
    "rebuild_hours, day": ("Rebuild beside the load of a day, at random moments", "h"),
    "rebuild_hours, busy": ("Rebuild beside a host that keeps all its operations under way", "h"),
}


def figure(x: float) -> str:
    """Give three digits."""
    return f"{x:,.0f}" if abs(x) >= 100 else f"{x:.3g}"


def summary(rows: Sequence[Compared]) -> Iterator[str]:
    """Say how many lie inside, and how near."""
    for key, (title, _) in _TITLES.items():
        of = [row for row in rows if row.key == key]
        if of:
            near = sum(1 / WITHIN <= row.ratio <= WITHIN for row in of)
            inside = sum(row.inside for row in of)
            yield (
                f"{title}: {inside} of {len(of)} inside the quoted range ({inside / len(of):.0%}), "
                f"{near} with a value within a factor of {WITHIN} ({near / len(of):.0%})."
            )


def page(
    rows: Sequence[Compared], words: Mapping[str, str], builds: Mapping[str, tuple[Any, ...]]
) -> str:
    """Write the page."""
    lines = [
        "# Estimates against a simulation",
        "",
        "What is quoted for builds of the starter price list beside what a simulation of drives, "
        "lanes, cache and host finds, operation by operation (`tests/estimate/opinions/array`). "
        "Both rest on the same price list; what a simulation leaves out stands in its docstrings. "
        "It is a second opinion and no measurement. *Ratio* is the quoted value over the simulated "
        "one; ± is one standard error over runs; a mean is inside a range give or take two.",
        "",
        f"Made by `{COMMAND}`.",
        "",
        *(f"* {line}" for line in summary(rows)),
        "",
        "| build | chassis | controller | drive | layout |",
        "|---|---|---|---|---|",
        *(f"| {name} | {' | '.join(b[:3])} | {words[name]} |" for name, b in builds.items()),
    ]
    lines += ["", "## Quoted over simulated operations a second, all cases", "", *_matrix(rows)]
    for key, (title, unit) in _TITLES.items():
        of = [row for row in rows if row.key == key]
        if of:
            lines += ["", f"## {title}", "", *_table(of, unit)]
    return "\n".join([*lines, ""])


def _matrix(rows: Sequence[Compared]) -> Iterator[str]:
    """Set builds against loads; what is outside the range is in italics."""
    of = {(r.build, r.load): r for r in rows if r.key == "host_iops"}
    loads = list(dict.fromkeys(load for _, load in of))
    yield f"| build | {' | '.join(loads)} |"
    yield f"|---|{'--:|' * len(loads)}"
    for build in dict.fromkeys(name for name, _ in of):
        cells = []
        for load in loads:
            row = of.get((build, load))
            text = "" if row is None else f"{row.ratio:.2f}"
            cells.append(text if row is None or row.inside else f"*{text}*")
        yield f"| {build} | {' | '.join(cells)} |"


def _table(rows: Sequence[Compared], unit: str) -> Iterator[str]:
    yield f"| build | load | low | value | high ({unit}) | simulated | ratio | inside |"
    yield "|---|---|--:|--:|--:|--:|--:|---|"
    for r in rows:
        error = f" ± {figure(r.error)}" if r.error else ""
        yield (
            f"| {r.build} | {r.load} | {figure(r.low)} | {figure(r.value)} | {figure(r.high)} | "
            f"{figure(r.simulated)}{error} | {r.ratio:.2f} | {'yes' if r.inside else 'no'} |"
        )
