"""How do we come back to what was promised: a record's server as cells of an enquiry."""

from quotelib.choose.options import array_pins
from quotelib.promise.record import Server


def pins_of(server: Server) -> dict[str, str]:
    """Give the pins that lead to a server of a record, as cells of an enquiry."""
    pins = {"chassis": server.chassis}
    for array in server.arrays:
        pins |= array_pins(array.controller, array.drive, array.layout)
    return pins
