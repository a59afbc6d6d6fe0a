"""Do cables and backplane take every controller to its drives, and how fast."""

from collections.abc import Iterator
from dataclasses import replace

from quotelib.build.build import Build
from quotelib.build.findings import Finding, finding
from quotelib.build.speed import serial_mb_s
from quotelib.catalogue.parts import Accessory, Controller
from quotelib.catalogue.price_list import PriceList
from quotelib.text import both, count, either


def _off_board(build: Build) -> Iterator[tuple[Controller, bool]]:
    """List the storage controllers that take a cable, and whether the customer has them.

    What is part of a board comes wired with its chassis; common practice, no source.
    """
    for piece, controller in build.controllers():
        if controller.takes != "board" and build.arrays_on(controller):
            yield controller, piece.owned


def _is_cable(item: Accessory, controller: Controller) -> bool:
    return item.kind == "cable" and controller.sku in item.needed_by


def _reaches(item: Accessory, controller: Controller, interface: str) -> bool:
    """Tell whether an accessory is a cable set from a controller to drives of an interface."""
    return _is_cable(item, controller) and interface in (item.interfaces or (interface,))


def cable_missing(build: Build, price_list: PriceList) -> Iterator[Finding]:
    """Note drives that no cable set in the build goes to, though the list has some for such.

    A controller that no cable set of the list names is silent: it may bring its own. So is one
    that the customer has in a chassis of theirs. Common practice, no source.
    """
    backplane = build.chassis.backplane
    to = f"the {backplane} backplane" if backplane else "the bays"
    # As it would come were all parts ours to deliver.
    ours = replace(build, parts=tuple(replace(piece, owned=False) for piece in build.parts))
    for controller, owned in _off_board(build):
        sold = [a for a in price_list.accessories.values() if _is_cable(a, controller)]
        if not sold or (owned and build.chassis_owned):
            continue
        for interface in dict.fromkeys(a.drive.interface for a in build.arrays_on(controller)):
            if any(_reaches(item, controller, interface) for item in build.accessories):
                continue
            goes = [a.sku for a in sold if ours.needs(a) and _reaches(a, controller, interface)]
            if owned and goes:
                what = f"no cable set comes with the customer's own {controller.sku}, which has to "
                what += f"reach {to} of {build.chassis.sku}"
                change = f"see that theirs does, or order {either(goes)} apart"
            else:
                what = f"no cable set of ours takes {controller.sku} to {interface} "
                what += f"drives on {to} of {build.chassis.sku}"
                change = "find one before this is ordered, or choose another controller or chassis"
            yield finding("cable_missing", what, change)


def cable_few(build: Build) -> Iterator[Finding]:
    """Note cable sets that come in fewer pieces than controllers and drives take.

    A price list counts a set once a build, or over the drives of a server, bought ones at times;
    each controller needs one of its own, for all its drives. Common practice, no source.
    """
    for item in build.accessories:
        needed, served, named = 0, 0, []
        for controller, owned in _off_board(build):
            drives = sum(
                array.drives
                for array in build.arrays_on(controller)
                if not owned and _reaches(item, controller, array.drive.interface)
            )
            if drives:
                named.append(controller.sku)
                served += drives
                needed += 1 if item.per == "build" else -(-drives // item.per)
        there = build.quantity(item)
        if there < needed:
            what = f"{count(there, 'cable set')} {item.sku} would come for the "
            what += f"{count(served, 'drive')} on {both(named)}, which take {needed}"
            yield finding("cable_few", what, f"order {needed - there} more apart")


def expander_shared(build: Build, *, advised: bool) -> Iterator[Finding]:
    """Advise against two controllers on one expander backplane, or note it.

    Behind a single expander each controller sees every drive, and takes those of the other for
    unknown or new ones. Only zoning (in SAS since SAS-2) divides them, which few backplanes of one
    server have. Common practice, no source.
    """
    if build.chassis.backplane == "expander" and len(named := _storage(build)) > 1:
        what = f"{both(named)} would share the expander backplane of {build.chassis.sku}, where "
        what += "each sees all drives and may take those of the other for its own"
        change = "put all arrays on one controller, choose a chassis with a direct backplane, or "
        change += f"{'accept it where' if advised else 'see that'} its expander can be zoned"
        yield finding("expander_shared" if advised else "backplane_split", what, change)


def backplane_split(build: Build) -> Iterator[Finding]:
    """Note two controllers on one backplane, which has to be divided between them.

    A direct one can be, connector by connector: four bays each, as a rule. Of an expander see
    `expander_shared`. Common practice, no source.
    """
    if build.chassis.backplane != "expander" and len(named := _storage(build)) > 1:
        what = f"{both(named)} share the backplane of {build.chassis.sku}, the bays of which have "
        what += "to be divided between them where its connectors do, each with a cable of its own"
        change = "have that division checked before this is ordered, or use one controller"
        yield finding("backplane_split", what, change)


def _storage(build: Build) -> list[str]:
    return [piece.part.sku for piece, _ in build.controllers()]


def chipset_expander(build: Build) -> Iterator[Finding]:
    """Note a chipset's ports on an expander backplane.

    A SATA port reaches one drive. What is behind a SAS expander is reached by a SAS port only,
    which tunnels SATA (STP; T10 SAS Protocol Layer, from memory).
    """
    for _, controller in build.controllers():
        expander = build.chassis.backplane == "expander"
        if expander and controller.kind == "chipset" and controller.sas_gbit_s is None:
            what = f"{controller.sku} has SATA ports, and what is behind the expander of "
            what += f"{build.chassis.sku} is reached by SAS ports only"
            change = "ask which of its bays are wired to the board, or choose a SAS controller"
            yield finding("chipset_expander", what, change)


def sas_slower(build: Build) -> Iterator[Finding]:
    """Note SAS drives faster than their controller's links.

    A link runs at the highest rate that both ends have (T10 SAS Protocol Layer, speed negotiation;
    from memory).
    """
    for array in build.arrays:
        drive, controller = array.drive, array.controller
        own, given = drive.link_gbit_s, controller.sas_gbit_s
        if drive.interface == "sas" and own and given and serial_mb_s(own) > serial_mb_s(given):
            what = f"{drive.sku} has a link of {own} Gbit/s, {controller.sku} one of {given}: it "
            what += f"runs at {given} Gbit/s"
            yield finding(
                "sas_slower", what, f"choose a controller with {own} Gbit/s to use it all"
            )
