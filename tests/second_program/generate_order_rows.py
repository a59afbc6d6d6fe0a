"""Random orders about one price list: quotes of servers, loose parts, services and free lines."""

from __future__ import annotations

import random
from decimal import Decimal, localcontext

from .boxes import Array, Box
from .generate_enquiries import CUSTOMERS, own_some
from .generate_order_wrong import spoil
from .generate_prices import DIGITS
from .generate_targets import any_box, target
from .generate_upgrades import cells_of, own_chassis, upgraded
from .levels import survives_any
from .money import EXACT, Till
from .orders import OF_SERVER, read_quotes
from .places import free_slots, slots_of
from .reading import Part, Prices, Row
from .search import ServerSearch
from .stops import ADVISE_CODES

NAMES = ("db", "files", "backup")
ARRAYS = ("boot", "data", "scratch")


def counted(rng: random.Random, counts: list[tuple[str, int]]) -> str:
    """Write skus with their counts."""
    return rng.choice([";", "; "]).join(f"{sku}*{n}" if n > 1 else sku for sku, n in counts)


class OrderWriter:
    """Writes the rows of random quotes."""

    def __init__(self, rng: random.Random, prices: Prices, upgrades: float = 0.25) -> None:
        self.rng, self.prices, self.upgrades = rng, prices, upgrades
        self.chosen = [service for service in prices.services if service.chosen]
        boards = [one.sku for one in prices.controllers if one.mounting == "board"]
        parts: list[Part] = [*prices.drives, *prices.controllers, *prices.chassis]
        parts += [*prices.accessories, *prices.options]
        self.loose = [part for part in parts if part.sku not in boards]

    def rows(self, least: int) -> list[Row]:
        """Write quotes until there are so many rows."""
        rows: list[Row] = []
        while len(rows) < least:
            enquiry_id = f"Q{len(rows):03d}"
            quote = [{"enquiry_id": enquiry_id} | row for row in self._quote()]
            if self.rng.random() < 0.1:
                ids = sorted({row["enquiry_id"] for row in rows})
                spoil(self.rng, self.prices, quote, ids[:-1])
            rows += quote
        return rows

    def _quote(self) -> list[Row]:
        rng = self.rng
        first: Row = {
            "customer": rng.choice(CUSTOMERS),
            "currency": rng.choice(["", "GBP", "EUR", "JPY", "KWD"]),
            "note": "invented",
        }
        if rng.random() < 0.5:
            first["discount_pct"] = rng.choice(["1.25", "2.5", "7.125", "33.333", "0"])
        if rng.random() < 0.7:
            first["tax_code"] = rng.choice(sorted(self.prices.tax))
        currency = first["currency"] or self.prices.currency
        servers = [self._server(currency) for _ in range(rng.choice([0, 1, 1, 1, 2, 2, 3]))]
        servers = [server for server in servers if server]
        apart = rng.choice([0, 0, 1, 2]) if servers else rng.choice([1, 2, 3])
        loose = [self._loose_row(currency) for _ in range(apart)]
        # A row that names no server beside a server that has no name could be taken for its.
        named = len(servers) > 1 or bool(servers and loose) or rng.random() < 0.3
        for name, server in zip(NAMES, servers, strict=False):
            for row in server:
                row |= {"server": name} if named else {}
        if servers and rng.random() < 0.3:
            rng.choice(rng.choice(servers)).update(self._extras(currency))
        if len(servers) > 1 and rng.random() < 0.15:
            # Rows of a server need not stand together, those of a quote do.
            servers = [[servers[0][0]], servers[1], servers[0][1:], *servers[2:]]
        rows = [row for server in servers for row in server]
        rows = loose + rows if rng.random() < 0.15 else rows + loose
        rows[0] |= first
        for row in rows[1:]:
            row |= {key: value for key, value in first.items() if value and rng.random() < 0.15}
        return rows

    def _extras(self, currency: str) -> Row:
        """Write loose parts or a free line, beside whatever else the row asks for."""
        rng, row = self.rng, {}
        if rng.random() < 0.6:
            some = rng.sample(self.loose, rng.randint(1, min(3, len(self.loose))))
            row["parts"] = counted(rng, [(part.sku, rng.choice([1, 2, 5, 30])) for part in some])
        if not row or rng.random() < 0.4:
            row["line"] = rng.choice(["Carriage agreed", "Old server taken back", "<b>Labels</b>"])
            digits = rng.randint(0, DIGITS[currency])
            row["line_price"] = (
                f"{rng.randint(-90_000, 300_000) / 10 ** DIGITS[currency]:.{digits}f}"
            )
            row["line_quantity"] = rng.choice(["", "1", "3"])
            row["line_cost"] = rng.choice(["", "", "0", f"{rng.randint(0, 900)}"])
        return row

    def _loose_row(self, currency: str) -> Row:
        row: Row = {}
        if self.chosen and self.rng.random() < 0.4:
            row["services"] = self._services()
        if not row or self.rng.random() < 0.5:
            row |= self._extras(currency)
        return row

    def _services(self) -> str:
        rng = self.rng
        likely = [one for one in self.chosen if not one.actions or "new" in one.actions]
        some = rng.sample(likely or self.chosen, 1)
        return counted(rng, [(service.sku, rng.choice([1, 1, 2, 11])) for service in some])

    def _server(self, currency: str) -> list[Row]:
        """Write the rows of one server that mostly can be built; none where nothing can."""
        if self.rng.random() < 0.12:
            box = any_box(self.rng, self.prices, self.rng.choice([1, 1, 2]))
            if box and self.rng.random() < self.upgrades:
                box = upgraded(self.rng, self.prices, box)
            whole = self.rng.random() < 0.5
            return self._rows_of(box, currency, whole=whole) if box else []
        rows: list[Row] = []
        for _ in range(8):
            rows = self._any_server(currency)
            if rows and (self._can_be_built(rows, currency) or self.rng.random() < 0.1):
                break
        return rows

    def _can_be_built(self, rows: list[Row], currency: str) -> bool:
        same = {"enquiry_id": "Q", "customer": "Invented", "currency": currency}
        with localcontext(EXACT):
            (quote,) = read_quotes([same | row for row in rows], self.prices)
            if quote.wrong:
                return False
            till = Till(self.prices, quote)
            searched = [ServerSearch(self.prices, asked, till) for asked in quote.servers]
            return all(one.search().best is not None for one in searched)

    def _any_server(self, currency: str) -> list[Row]:
        rng = self.rng
        arrays = rng.choice([0, 1, 1, 2, 2, 3])
        change = upgraded if rng.random() < self.upgrades else None
        box = target(rng, self.prices, arrays, change)
        box = box or target(rng, self.prices, min(arrays, 1), change)
        if box is None:
            return []
        return self._rows_of(box, currency, whole=False)

    def _rows_of(self, box: Box, currency: str, *, whole: bool) -> list[Row]:
        """Write the rows of a server; where it is pinned `whole` nothing is left to choose."""
        rng = self.rng
        first = self._of_server(box, currency, whole=whole)
        rows = [self._of_array(array, len(box.arrays), whole=whole) for array in box.arrays]
        for name, row in zip(rng.sample(ARRAYS, 3), rows, strict=False):
            row |= {"array": name} if len(rows) > 1 or rng.random() < 0.3 else {}
        if len(rows) > 1 and rng.random() < 0.3:
            rows[0]["array"] = ""
        bare = first["options"] and first.get("chassis") and rng.random() < 0.15
        if not rows or bare:
            rows.insert(0, {})
        rows[0] = first | rows[0]
        for row in rows:
            if row.get("controller") or row.get("drive") or row.get("chassis"):
                mine = own_some(rng, self.prices, row) if rng.random() < 0.25 else ""
                if not box.chassis_owned:
                    row["owned"] = mine
            if self.chosen and rng.random() < 0.15:
                row["services"] = self._services()
            if rng.random() < 0.3:
                row["accept"] = ";".join(rng.sample(ADVISE_CODES, rng.randint(1, 5)))
            if rng.random() < 0.2:
                row["condition"] = rng.choice(["any", "any", "new"])
        if box.chassis_owned:
            own_chassis(rng, rows)
        for row in rows[1:]:
            same = {key: value for key, value in first.items() if value and rng.random() < 0.1}
            row |= {key: value for key, value in same.items() if key in OF_SERVER}
        return rows

    def _of_server(self, box: Box, currency: str, *, whole: bool) -> Row:
        rng = self.rng
        row = {"builds": rng.choice(["", "1", "2", "3", "10"])}
        if whole or not box.arrays or box.chassis_owned or rng.random() < 0.6:
            row["chassis"] = box.chassis.sku
        named = [(option, n) for option, n in box.options]
        if box.arrays and not whole and rng.random() < 0.4:
            kinds = {"processor": "cores", "memory": "memory_gb"}
            named = [(option, n) for option, n in named if option.kind not in kinds]
            for column, sizes in (("cores", (8, 16, 20, 32)), ("memory_gb", (16, 64, 96, 128))):
                if rng.random() < 0.7:
                    row[column] = str(rng.choice(sizes))
        elif rng.random() < 0.1:
            row["cores"] = str(rng.choice([8, 16, 32]))
        row["options"] = counted(rng, [(option.sku, n) for option, n in named])
        if not box.arrays and not row["options"]:
            row["options"] = box.options[0][0].sku
        if box.redundant_supply:
            row["redundant_supply"] = "yes"
        row |= self._limits(box, currency)
        return row

    def _limits(self, box: Box, currency: str) -> Row:
        rng, row = self.rng, {}
        if rng.random() < 0.2:
            row["free_slots"] = self._free_slots(box)
        parts = box.parts()
        if rng.random() < 0.15:
            rate = Decimal(1) if currency == self.prices.currency else self.prices.rates[currency]
            price = sum(part.unit_price * count for part, count, _ in parts) * rate
            row["max_price"] = f"{price * rng.randint(90, 250) / 100:.0f}"
        if rng.random() < 0.15:
            draw = sum(part.watts * count for part, count, _ in parts)
            row["max_watts"] = f"{draw * rng.randint(95, 180) / 100:.1f}"
        if rng.random() < 0.15:
            row["max_lead_days"] = rng.choice(["0", "5", "10", "21", "45"])
        return row

    def _free_slots(self, box: Box) -> str:
        """Ask for as many free slots as there are, or about as many, of about their kind."""
        rng = self.rng
        free = free_slots(box.chassis, slots_of(box) or ())
        items = []
        for slot in rng.sample(free, rng.randint(0, min(2, len(free)))):
            lanes = slot.lanes if slot.connector_lanes is None else slot.connector_lanes
            height = rng.choice([slot.height, "low"])
            items.append(rng.choice(["1", f"1:{height}", f"1:{height}:{lanes}"]))
        return rng.choice([";", "; "]).join(items) or rng.choice(["0", "1", "1:full:16", "2:low"])

    def _of_array(self, array: Array, arrays: int, *, whole: bool) -> Row:
        rng = self.rng
        share = rng.choice([0, 0.3, 0.6, 1] if arrays == 1 else [0, 0.4, 0.7, 1])
        wanted = {
            "controller": array.controller.sku,
            "drive": array.drive.sku,
            "members": str(array.members),
            "level": array.level,
        }
        row = {pin: value for pin, value in wanted.items() if whole or rng.random() < share}
        if array.action != "new":
            row = cells_of(rng, array, whole=whole)
        elif array.have:
            row |= {"drive": array.drive.sku, "have_drives": str(array.have)}
        if array.spans > 1 and (whole or rng.random() < 0.4):
            row["spans"] = str(array.spans)
        if rng.random() < 0.03:
            row["level"] = rng.choice(["0", "1", "5", "6", "none"])
        if rng.random() < 0.02:
            row["drive"] = rng.choice(self.prices.drives).sku
        capacity = Decimal(array.usable_bytes) / 10**12
        if not all(row.get(pin) for pin in ("drive", "members", "level")) or rng.random() < 0.3:
            row["usable_tb"] = f"{capacity * rng.choice([20, 50, 80, 99, 100]) / 100:.3f}"
        if rng.random() < 0.15:
            row["survive"] = rng.choice(["0", str(survives_any(array.level)), "2"])
        if rng.random() < 0.15:
            row["media"] = rng.choice(["hdd", "ssd", *[array.drive.media] * 4])
        if rng.random() < 0.1:
            row["spares"] = rng.choice(["0", "1", "1", "2"])
        if rng.random() < 0.3:
            row["workload"] = rng.choice(sorted(self.prices.workloads))
        return row
