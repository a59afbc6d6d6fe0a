"""How long does it take to go over whole drives: a full initialisation, an extended self-test.

Both are for an idle machine, and end at the earliest after these hours: disks are slower towards
the inside, and a controller may give such work less than all of its time. `AT_MOST` is the other
end of the range.
"""

import numpy as np
from numpy.typing import ArrayLike

from quotelib.estimate.checks import FloatArray, number
from quotelib.units import MB

# Times as long, at most; common practice, no source. Of it 4/3 is a disk's rim against
# the mean of its tracks (`service.RIM_TO_MEAN`).
AT_MOST = 2.0


def initialise_hours(
    member_bytes: ArrayLike,
    write_mb_s: ArrayLike,
    members: ArrayLike,
    link_mb_s: ArrayLike = np.inf,
    controller_mb_s: ArrayLike = np.inf,
) -> FloatArray:
    """Hours until every byte of every member was written once: bytes / (rate x 10^6 x 3600).

    All members are written side by side, each at the least of its own rate, its link and its share
    of what the controller moves. Common practice, no source.

    Parameters
    ----------
    member_bytes, write_mb_s : array_like of float
        Bytes of a member that belong to the array, and its sustained write rate; above zero.
    members : array_like of int
        Drives that the controller writes at once, those of its other arrays too; at least 1.
    link_mb_s, controller_mb_s : array_like of float
        Link of one drive, and data the controller moves; infinity where no limit is stated.
    """
    size = number("member bytes", member_bytes, above=0)
    write = number("member write rate in MB/s", write_mb_s, above=0)
    drives = number("drives written at once", members, at_least=1, whole=True)
    link = number("drive link in MB/s", link_mb_s, above=0, infinite=True)
    controller = number("controller limit in MB/s", controller_mb_s, above=0, infinite=True)
    rate = np.minimum(np.minimum(write, link), controller / drives)
    return np.asarray(size / (rate * MB) / 3600)


def self_test_hours(drive_bytes: ArrayLike, read_mb_s: ArrayLike) -> FloatArray:
    """Hours until a drive has read itself from end to end: bytes / (rate x 10^6 x 3600).

    For disks, whose extended self-test reads every block, in the drive and past every link (ATA
    and SCSI command sets; from memory). Each drive states its own time, which counts; flash mostly
    states less. Common practice, no source.

    Parameters
    ----------
    drive_bytes, read_mb_s : array_like of float
        Bytes of the drive, and its sustained read rate; above zero.
    """
    size = number("drive bytes", drive_bytes, above=0)
    return np.asarray(size / (number("drive read rate in MB/s", read_mb_s, above=0) * MB) / 3600)
