"""How is it told on a terminal: figures against their ranges, one below the other."""

from collections.abc import Iterator, Sequence

from quotelib.measured.compare import Asked
from quotelib.measured.jobs import ArrayTrial
from quotelib.measured.kept import FigureMeasured, Measurement
from quotelib.text import count, figure, percent

_MANY = 3
_NO_DATE = "at a time that fio does not tell"


def told(measurements: Sequence[Measurement]) -> Iterator[str]:
    """Say each measurement in a few lines, and what is doubtful of it."""
    of = ""
    every = set.intersection(*(set(one.doubts) for one in measurements)) if measurements else set()
    every = every if len(measurements) > 1 else set()
    for one in measurements:
        head = ", ".join(filter(None, (one.array, one.layout, one.controller, one.drive)))
        if head != of:
            of = head
            yield f"{head[:1].upper()}{head[1:]}"
        yield f"  {one.job}, {_when(one)}"
        rows = [_row(found) for found in one.figures]
        sizes = [max(len(row[at]) for row in rows) for at in range(3)]
        for row in rows:
            cells = "  ".join(cell.ljust(wide) for cell, wide in zip(row, sizes, strict=False))
            yield f"    {cells}  {row[3]}"
        yield from (f"    Not like for like: {d}." for d in one.doubts if d not in every)
    yield from (f"All of it not like for like: {doubt}." for doubt in sorted(every))


def _when(one: Measurement) -> str:
    return _NO_DATE if one.when is None else f"{one.when:%Y-%m-%d %H:%M} UTC"


def _row(one: FigureMeasured) -> tuple[str, str, str, str]:
    ends = [None if end is None else figure(end) for end in (one.low, one.high)]
    spread = " to ".join(end or "any" for end in ends) if any(ends) else "no range"
    quoted = f"quoted {figure(one.value)} {one.unit} ({spread})"
    return one.key, quoted, f"measured {figure(one.measured)}", verdict(one)


def verdict(one: FigureMeasured) -> str:
    """Say on which side of its range a figure is, and by how much."""
    if one.where == "inside":
        off = one.measured / one.value - 1 if one.value else 0.0
        side = "above" if off > 0 else "below"
        return f"inside ({percent(100 * abs(off))} {side} the value quoted)" if off else "inside"
    end = (one.low if one.where == "below" else one.high) or 0.0
    by = ""
    if end and one.measured < _MANY * end:
        by = f" by {percent(100 * abs(one.measured / end - 1))}"
    elif end:
        by = f", {figure(one.measured / end, 2)} times its end"
    return f"{one.where} the range{by}: {'WORSE' if one.worse else 'better'} than quoted"


def matching(asked: Asked) -> Iterator[str]:
    """Say what jobs would match, with what they have to be."""
    arrays: dict[str, ArrayTrial] = {}
    for name, (of, job) in asked.items():
        arrays[of.place] = of
        yield f"{name}: {', '.join(f'{key}={value}' for key, value in job.options.items())}"
    if not asked:
        yield "none: nothing may be measured, or no speed is known"


def ending(measurements: Sequence[Measurement]) -> str:
    """Sum up."""
    figures = [found for one in measurements for found in one.figures]
    worse = sum(found.worse for found in figures)
    doubtful = sum(bool(one.doubts) for one in measurements)
    said = f"{count(len(figures), 'figure')} measured, {worse} worse than quoted"
    return f"{said}; {count(doubtful, 'job')} not like for like" if doubtful else said
