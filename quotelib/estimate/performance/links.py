"""How fast the wires are: serial drive links and PCI Express, in MB/s and GB/s of payload.

Line rate less line coding. Packet headers, acknowledgements and flow control are not taken off,
so these are ceilings.
"""

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number

# Gbit/s on the wire -> payload bits per line bit.
SERIAL_CODING: dict[float, tuple[int, int]] = {
    1.5: (8, 10),
    3.0: (8, 10),
    6.0: (8, 10),
    12.0: (8, 10),
    22.5: (128, 150),
}

# Generation -> (GT/s a lane, payload bits, line bits). Generation 6 has no line code, but
# 14 of the 256 bytes of its fixed-size units hold check bytes.
PCIE_CODING: dict[int, tuple[float, int, int]] = {
    1: (2.5, 8, 10),
    2: (5.0, 8, 10),
    3: (8.0, 128, 130),
    4: (16.0, 128, 130),
    5: (32.0, 128, 130),
    6: (64.0, 242, 256),
}

NVME_DRIVE_LANES = 4  # the width of the drive connector of SFF-8639


def _look_up(name: str, keys: ArrayLike, table: dict[float, float], hint: str) -> FloatArray:
    array = np.asarray(keys, dtype=np.float64)
    unknown = ~(np.isnan(array) | np.isin(array, list(table)))
    if unknown.any():
        raise ValueError(f"{name} {array[unknown].flat[0]:g} is not defined; {hint}")
    result = np.full(array.shape, np.nan)
    for key, value in table.items():
        result[array == key] = value
    return result


def serial_link_mb_s(line_rate_gbit_s: ArrayLike) -> FloatArray:
    """Payload rate of one SATA or SAS lane, in MB/s.

    SATA and SAS up to 12 Gbit/s send 10 line bits a byte (8b/10b); SAS-4 sends 22.5 Gbit/s
    with 150 line bits for 128 payload bits. Sources: SATA revision 3 and SAS-3/SAS-4 (T10).

    Parameters
    ----------
    line_rate_gbit_s : array_like of float
        Line rate as the standards state it: 1.5, 3, 6, 12 or 22.5 Gbit/s.
    """
    table = {rate: rate * 1e3 / 8 * data / line for rate, (data, line) in SERIAL_CODING.items()}
    return _look_up(
        "line rate in Gbit/s", line_rate_gbit_s, table, "known are 1.5, 3, 6, 12 and 22.5"
    )


def pcie_lane_gb_s(generation: ArrayLike) -> FloatArray:
    """Payload rate of one PCI Express lane in one direction, before packet overhead, in GB/s.

    Of generation 1 to 6: transfer rate x coding / 8, with 8b/10b for 1 and 2 and 128b/130b for 3 to
    5; in 6, 242 of every 256 bytes are left after error correction and check. Source: PCI Express
    Base Specification, revisions 1 to 6.
    """
    table = {float(g): rate / 8 * data / line for g, (rate, data, line) in PCIE_CODING.items()}
    return _look_up("PCI Express generation", generation, table, "known are 1 to 6")


def pcie_link_mb_s(
    card_generation: ArrayLike,
    card_lanes: ArrayLike,
    slot_generation: ArrayLike,
    slot_lanes: ArrayLike,
) -> FloatArray:
    """Payload rate of a card in a slot, in one direction, before packet overhead, in MB/s.

    A link trains to the lesser generation and the lesser width of its two ends (PCI Express
    Base Specification).

    Parameters
    ----------
    card_generation, slot_generation : array_like of int
        1 to 6.
    card_lanes, slot_lanes : array_like of int
        Electrically connected lanes, at least 1.
    """
    lanes = np.minimum(
        number("lanes of the card", card_lanes, at_least=1, whole=True),
        number("lanes of the slot", slot_lanes, at_least=1, whole=True),
    )
    # Per-lane rates rise with the generation, so the lesser rate is that of the lesser one.
    lane_gb_s = np.minimum(pcie_lane_gb_s(card_generation), pcie_lane_gb_s(slot_generation))
    return np.asarray(lane_gb_s * 1e3 * lanes)
