"""What is done with drives that come back: erased, verified, certified; waste by local law.

NIST SP 800-88 Rev. 1, Guidelines for Media Sanitization, December 2014 (title page seen; Clear,
Purge and Destroy, cryptographic erase, verification whole or by sampling, and what a certificate
holds, from memory); Rev. 2, September 2025 (its date seen in notices, the rest from memory).
"""

from collections.abc import Iterable

from quotelib.bench.shown import Returned
from quotelib.build.build import Build
from quotelib.catalogue.work import Service

_RETURNED = Returned(
    words=(
        "Erase only what the customer has handed over for it in writing; the rest goes back as it "
        "came. Note serial numbers on arrival.",
        "Erase after NIST SP 800-88 (Rev. 1, 2014; Rev. 2, 2025), as the data asks: Clear where a "
        "drive stays in the same hands, Purge where it leaves them, Destroy where it fails. Disks: "
        "the drive's own sanitize overwrite. Flash: its block or cryptographic erase, since no "
        "overwrite reaches every cell; cryptographic only where all was encrypted from the first "
        "write.",
        "Verify by reading back, all of it or samples spread over the whole drive, by another "
        "person. A drive that fails is destroyed.",
        "Certify each drive: maker, model, serial number, method and tool, verification and "
        "result, person, signature, date, where it goes. Waste goes the way local law asks, "
        "batteries apart, and never before the certificate.",
    ),
    columns=("Serial no.", "Medium", "Method, tool", "Verified how, by", "Person, date"),
)


def returned(build: Build, chosen: Iterable[Service], traded_in: bool) -> Returned | None:
    """Say what is done with drives that come back, where some are to be expected.

    No description is read for it. Drives come back where something is taken in payment, where a
    service was chosen that is done drive by drive, where an array's drives are replaced, and where
    new drives take the bays of those in the customer's chassis.
    """
    out = any(
        array.action == "replace"
        or (array.action == "new" and build.chassis_owned and array.bought_drives)
        for array in build.arrays
    )
    by_drive = any(service.per == "drive" for service in chosen)
    return _RETURNED if traded_in or by_drive or out else None
