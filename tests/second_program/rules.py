"""A server of the first contract: one array, and what stops it."""

from __future__ import annotations

from dataclasses import dataclass

from . import boxes
from .boxes import Array, Box, Options
from .reading import Accessory, Chassis, Controller, Drive, Prices
from .stops import Services
from .stops import stops as stops_of_box


@dataclass(frozen=True)
class Build:
    """One chassis with one array of equal drives; `members` excludes the `spares`."""

    chassis: Chassis
    controller: Controller
    drive: Drive
    level: str
    spans: int
    members: int
    spares: int
    options: Options = ()
    redundant_supply: bool = False

    @property
    def drives(self) -> int:
        """Members and hot spares together."""
        return self.members + self.spares

    def box(self, owned: frozenset[str] = frozenset()) -> Box:
        """Say it as a server of the second contract."""
        array = Array(
            *(self.controller, self.drive, self.level, self.spans, self.members, self.spares),
            controller_owned="controller" in owned,
            have=self.drives if "drive" in owned else 0,
        )
        pinned = (self.options, self.redundant_supply, "chassis" in owned)
        return Box(self.chassis, (array,), *pinned)


def accessories_of(
    prices: Prices,
    chassis: Chassis,
    controller: Controller,
    drive: Drive,
    owned: frozenset[str],
    options: Options = (),
) -> list[Accessory]:
    """List what three parts need beside themselves, each once."""
    box = Build(chassis, controller, drive, "0", 1, 2, 0, options).box(owned)
    return [accessory for accessory, _ in boxes.accessories_of(prices, box)]


def stops(prices: Prices, build: Build, owned: frozenset[str], services: Services = ()) -> set[str]:
    """Every `stop` finding of one build."""
    box = build.box(owned)
    return stops_of_box(prices, box, boxes.accessories_of(prices, box), services)
