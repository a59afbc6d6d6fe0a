"""What each demand leaves of a table: rows, numbers of drives, plans, or estimates to look at.

A demand that nobody has put into such a form is asked of one build after the other, in the order of
the choice (`Form.alone`): slower, and as exact.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from quotelib.choose import shipped
from quotelib.choose.candidate import Candidate
from quotelib.choose.integers import floored
from quotelib.choose.plans import Numbers
from quotelib.choose.sets import Flags
from quotelib.choose.table import Table
from quotelib.choose.weights import DRAW, last
from quotelib.enquiry.column import Asked
from quotelib.estimate.checks import FloatArray


@dataclass(frozen=True)
class Form:
    """What meets a demand; None: it says nothing of that.

    Parameters
    ----------
    rows : ndarray of bool
        Which rows.
    last : ndarray, shape (2, rows)
        Up to how many drives, passed through and in an array.
    plans : ndarray of bool
        Which plans.
    data : ndarray
        Of each row, how many members' worth of data.
    speed, risk : callable
        Which estimates, given their columns.
    """

    demand: Asked
    rows: Flags | None = None
    last: Numbers | None = None
    plans: Flags | None = None
    data: Numbers | None = None
    speed: Callable[[FloatArray], Flags] | None = None
    risk: Callable[[FloatArray], Flags] | None = None

    @property
    def alone(self) -> bool:
        """Tell whether each build has to be asked by itself."""
        parts = (self.rows, self.last, self.plans, self.data, self.speed, self.risk)
        return all(part is None for part in parts)


def form(table: Table, demand: Asked, spares: int | None = None) -> Form:
    """Put a demand into the form in which a table can be asked.

    `spares` of its drives are hot spares; by default so many as its row says.
    """
    if demand.column == "ship_by":
        number = table.row.spares or 0 if spares is None else spares
        return Form(demand, last=shipped.in_time(table, demand, number))
    made = _FORMS.get(demand.column)
    return Form(demand) if made is None else made(table, demand)


def _usable(table: Table, demand: Asked) -> Form:
    sizes = table.sizes
    distinct, back = np.unique(sizes, return_inverse=True)
    limit: Decimal = demand.limit
    needed = []
    for one in map(int, distinct):
        whole = int(limit // one) if one else 10**9
        needed.append(0 if limit <= 0 else whole + (whole * one < limit))
    data = np.array(needed, dtype=np.int64)[back.reshape(sizes.shape)]
    return Form(demand, data=data[table.at[1], table.at[2]])


def _survive(table: Table, demand: Asked) -> Form:
    return Form(demand, plans=table.plans.survives >= demand.limit)


def _media(table: Table, demand: Asked) -> Form:
    kinds = np.array([d.media == demand.limit for d in table.listed.drives], dtype=bool)
    return Form(demand, rows=kinds[table.at[2]])


def _of_parts(table: Table, demand: Asked) -> Form:
    box, controller, back = table.pairs
    met = [
        demand.met(Candidate(table.empty(b, c), 0))
        for b, c in zip(box.tolist(), controller.tolist(), strict=True)
    ]
    return Form(demand, rows=np.array(met, dtype=bool)[back])


def _watts(table: Table, demand: Asked) -> Form:
    limit = floored(demand.limit, table.scales.watt_places)
    most = table.within(DRAW, limit, table.least, table.most)
    return Form(demand, last=np.stack([most, most]))


def _in_time(table: Table, demand: Asked) -> Form:
    return Form(demand, last=np.stack([table.in_time, table.in_time]))


def _price(table: Table, demand: Asked) -> Form:
    limit = floored(demand.limit, table.scales.places)
    return Form(demand, last=within_net(table, limit))


def within_net(table: Table, limit: int) -> Numbers:
    """Give the most drives of each row that cost no more, passed through and in an array."""
    rows = np.arange(len(table.least))
    return np.stack(
        [
            last(
                lambda drives, kind=kind: table.weights.net(rows, drives, kind),  # type: ignore[misc]
                table.least,
                table.most,
                np.asarray(limit),
            )
            for kind in (0, 1)
        ]
    )


def _rate(column: int) -> Callable[[Table, Asked], Form]:
    def make(_: Table, demand: Asked) -> Form:
        limit = demand.limit
        if demand.demand.sense == "at least":
            return Form(demand, speed=lambda found: found[column] >= limit)
        return Form(demand, speed=lambda found: found[column] <= limit)

    return make


def _loss(_: Table, demand: Asked) -> Form:
    return Form(demand, risk=lambda found: found[0] <= demand.limit)


_FORMS: dict[str, Callable[[Table, Asked], Form]] = {
    "usable_tb": _usable, "survive": _survive, "media": _media, "free_slots": _of_parts,
    "cores": _of_parts, "memory_gb": _of_parts, "max_watts": _watts, "max_lead_days": _in_time,
    "max_price": _price, "host_iops": _rate(0), "host_mb_s": _rate(1), "max_response_ms": _rate(2),
    "max_loss_pct": _loss,
}  # fmt: skip
