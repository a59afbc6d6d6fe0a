"""What will it hold, do and survive: a few figures of the record, each with its range."""

from collections.abc import Iterator

from quotelib.facts import Frozen
from quotelib.predict.estimate import Estimate
from quotelib.promise.offer_asked import array_names, server_names
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.shown import ArrayShown
from quotelib.promise.texts import Texts

_ESTIMATES = (
    ("speed", "host_iops", 3),
    ("answer", "response_ms", 3),
    ("rebuild", "rebuild_hours", 3),
    ("loss", "loss_pct", 2),
)
"""What is shown of an array: its column, the key of its estimate, and significant digits."""
_POWER = "mean_watts"


class Figure(Frozen):
    """A figure under its head; blank where there is none, the range also where nobody knows."""

    head: str
    value: str
    range: str = ""


class FigureRow(Frozen):
    """The figures of an array, or of a server without any; the name of the only one is blank."""

    name: str
    figures: tuple[Figure, ...]


def figures(record: QuoteRecord, t: Texts) -> tuple[FigureRow, ...]:
    """Give the figures of each array, the same heads in every row, in the same order."""
    rows = list(_rows(record, t))
    heads = dict.fromkeys(f.head for row in sorted(rows, key=_few) for f in row.figures)
    return tuple(
        row.model_copy(
            update={"figures": tuple(of.get(head, Figure(head=head, value="")) for head in heads)}
        )
        for row in rows
        for of in [{figure.head: figure for figure in row.figures}]
    )


def _few(row: FigureRow) -> int:
    return -len(row.figures)


def _rows(record: QuoteRecord, t: Texts) -> Iterator[FigureRow]:
    """Give what is known of each array; what a whole server draws stands with its first."""
    for of, server in zip(server_names(record, t), record.servers, strict=True):
        power = _power(server, t)
        if not server.arrays:
            if power is not None:
                yield FigureRow(name=of, figures=(power,))
            continue
        for own, array in zip(array_names(server, t), server.arrays, strict=True):
            found = [*_of_array(array, t), *([power] if power else [])]
            name = ", ".join(filter(None, (of, own)))
            yield FigureRow(name=name, figures=tuple(found))
            power = None


def loads(record: QuoteRecord, t: Texts) -> Iterator[str]:
    """Say under which loads the figures hold, each once."""
    every = [array.outlook.load for _, array in record.by_array()]
    if named := dict.fromkeys(load.description for load in every if load.description):
        yield t("figures.load", load="; ".join(named))
    for load in [load for load in every if not load.name][:1]:
        mix = {"read": t.plain(load.read_pct), "random": t.plain(load.random_pct)}
        yield t("figures.no_load", block=t.plain(load.block_kib), **mix)


def _of_array(array: ArrayShown, t: Texts) -> Iterator[Figure]:
    usable = array.capacity.usable_bytes
    tb, tib = t("figures.tb", tb=t.tb(usable)), t("figures.tib", tib=t.tib(usable))
    yield Figure(head=t("figures.holds"), value=tb, range=tib)
    survived = t("figures.any", array.survives) if array.survives else t("figures.none")
    yield Figure(head=t("figures.survives"), value=survived)
    known = {estimate.key: estimate for estimate in array.estimates}
    for name, key, digits in _ESTIMATES:
        head = t(f"figures.{name}", years=array.outlook.years)
        # A rebuild is nothing that an array without redundancy has.
        if name != "rebuild" or array.survives:
            yield _figure(head, name, known.get(key), digits, t)
        else:
            yield Figure(head=head, value=t("figures.no_rebuild"))


def _power(server: Server, t: Texts) -> Figure | None:
    found = next((e for e in server.estimates if e.key == _POWER), None)
    return None if found is None else _figure(t("figures.power"), "power", found, 3, t)


def _figure(head: str, name: str, found: Estimate | None, digits: int, t: Texts) -> Figure:
    if found is None or found.value is None:
        return Figure(head=head, value=t("figure.unknown"))

    def written(value: float) -> str:
        return t.figure(value, digits)

    value = t(f"unit.{name}", value=written(found.value))
    low = found.value if found.low is None else found.low
    if found.high is None:
        return Figure(head=head, value=value, range=t("figure.from", low=written(low)))
    least, most = written(low), written(found.high)
    both = t("figure.range", low=least, high=most) if least != most else ""
    return Figure(head=head, value=value, range=both)
