"""Published values that the estimates are held against: value, source, status, what they check.

Status: ``seen``: read in a copy of the source or in published data that quotes it;
``re-derived``: worked out again from the rule the source states; ``memory``: from memory only.
A computed value must agree to half a unit of the last digit given. `of` is the function of
`quotelib.estimate` that a row is there for; `reach` tells whether quotes call it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    key: str
    value: float
    digits: int  # after the point; negative: zeros before it that carry no information
    source: str
    status: str
    of: str

    def agrees(self, computed: float) -> bool:
        return abs(computed - self.value) <= 0.5 * 10.0**-self.digits * (1 + 1e-6)


def listed(
    of: str, source: str, status: str, *values: tuple[str, float, int]
) -> tuple[Published, ...]:
    """List what one source says of one function: key, value, digits after the point."""
    return tuple(Published(key, value, digits, source, status, of) for key, value, digits in values)


OSTEP_RAID = "Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 38"
OSTEP_DISK = "Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 37"
SURVEY = "Chen et al., ACM Computing Surveys 26(2), 1994, Table 3"
LAZOWSKA = "Lazowska et al., Quantitative System Performance, 1984, ch. 6"
JAIN = "Jain, The Art of Computer Systems Performance Analysis, 1991, ch. 34 and 35"
JAIN_BOUNDS = "Jain, The Art of Computer Systems Performance Analysis, 1991, ch. 33 and box 34.4"
BOLCH = "Bolch et al., Queueing Networks and Markov Chains, 1998, ch. 7 and 8"
GATEWAY = "Jain, The Art of Computer Systems Performance Analysis, 1991, Example 31.2"
KLEINROCK = "Kleinrock, Queueing Systems 1, 1975, section 5.7"
MENASCE = "Menasce, Almeida, Dowdy, Performance by Design, 2004, Example 3.9"
HARCHOL = "Harchol-Balter, Performance Modeling and Design of Computer Systems, 2013, ch. 19"
PCI = "PCI Express Base Specification, revisions 1 to 6 (PCI-SIG)"
SAS = "Serial Attached SCSI, SAS-1.1 to SAS-4 (T10)"
SATA = "Serial ATA, revisions 1 to 3 (SATA-IO)"
CAPACITY = "SFF-8447, LBA Count for Disk Drives; IDEMA LBA1-03"
LATENCY = "Wikipedia, Hard disk drive performance characteristics, table of rotational latency"
STALLINGS = "Stallings, Computer Organization and Architecture, section 6.1"
BRYANT = "Bryant, O'Hallaron, Computer Systems: A Programmer's Perspective, practice problem 6.3"
COD = "Patterson, Hennessy, Computer Organization and Design, example of disk read time"
GATE = "GATE (entrance examination, India) 2007, information technology, question 44"

SERIAL = "performance.links.serial_link_mb_s"
LANE = "performance.links.pcie_lane_gb_s"
SLOT = "performance.links.pcie_link_mb_s"
BLOCKS = "capacity.lba_count"
TURN = "performance.service.rotational_latency_ms"
MOVE = "performance.service.transfer_ms"
DISK = "performance.service.disk_access_ms"
MVA = "performance.mean_values.mean_value_analysis"
WIDE = "performance.queueing.asymptotic_bounds"
WAIT = "performance.day.queue_wait"
KNEE = "performance.queueing.knee_customers"

PUBLISHED: tuple[Published, ...] = (
    # Links, in MB/s; one lane of revision 6 in GB/s.
    *listed(SERIAL, SATA, "seen", ("link.sata.1.5", 150, 0), ("link.sata.3", 300, 0)),
    *listed(SERIAL, SATA, "seen", ("link.sata.6", 600, 0)),
    *listed(SERIAL, SAS, "seen", ("link.sas.6", 600, 0), ("link.sas.12", 1200, 0)),
    *listed(SERIAL, SAS, "seen", ("link.sas.12x4", 4800, 0)),
    *listed(SERIAL, SAS, "re-derived", ("link.sas.22.5", 2400, 0)),
    *listed(LANE, PCI, "seen", ("link.pcie.1", 250, 0), ("link.pcie.2", 500, 0)),
    *listed(LANE, PCI, "seen", ("link.pcie.3", 985, 0), ("link.pcie.4", 1969, 0)),
    *listed(LANE, PCI, "seen", ("link.pcie.5", 3938, 0), ("link.pcie.6", 7.56, 2)),
    *listed(SLOT, PCI, "seen", ("link.pcie.4x4", 7877, 0), ("link.pcie.4x8", 15754, 0)),
    *listed(SLOT, PCI, "seen", ("link.pcie.5x16", 63015, 0)),
    # Blocks of a drive, by gigabytes and block size. Seen: drives of several makers report it.
    *listed(BLOCKS, CAPACITY, "re-derived", ("blocks.50.512", 97_696_368, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.80.512", 156_301_488, 0)),  # LBA1-02's example
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.960.512", 1_875_385_008, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.2000.512", 3_907_029_168, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.4000.512", 7_814_037_168, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.6000.512", 11_721_045_168, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.8000.512", 15_628_053_168, 0)),
    # Above 8000 GB: capacity over block size, rounded up to a multiple of 2^21.
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.10000.512", 19_532_873_728, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.16000.512", 31_251_759_104, 0)),
    # 20e12 / 512 / 2^21 = 18626.45..., 18627 x 2^21.
    *listed(BLOCKS, CAPACITY, "re-derived", ("blocks.20000.512", 39_063_650_304, 0)),
    # 97,696,368 / 8, and 12,212,046 + 244,188 x 1750.
    *listed(BLOCKS, CAPACITY, "re-derived", ("blocks.50.4096", 12_212_046, 0)),
    *listed(BLOCKS, CAPACITY, "re-derived", ("blocks.1800.4096", 439_541_046, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.4000.4096", 976_754_646, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.6000.4096", 1_465_130_646, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.8000.4096", 1_953_506_646, 0)),
    *listed(BLOCKS, CAPACITY, "seen", ("blocks.10000.4096", 2_441_609_216, 0)),
    *listed(BLOCKS, CAPACITY, "re-derived", ("blocks.16000.4096", 3_906_469_888, 0)),
    # Disks, in ms; rates in MB/s.
    *listed(TURN, LATENCY, "re-derived", ("service.latency.5400", 5.56, 2)),
    *listed(TURN, LATENCY, "re-derived", ("service.latency.7200", 4.17, 2)),
    *listed(TURN, LATENCY, "re-derived", ("service.latency.10000", 3.00, 2)),
    *listed(TURN, LATENCY, "re-derived", ("service.latency.15000", 2.00, 2)),
    *listed(TURN, STALLINGS, "seen", ("service.latency.20000", 1.5, 1)),
    *listed(DISK, OSTEP_DISK, "seen", ("service.ostep.fast_ms", 6.03, 2)),
    # Not listed: the fast drive's 0.66 MB/s, which needs 4 KB = 4000 bytes where the large
    # drive's 0.31 MB/s needs 4096.
    *listed(DISK, OSTEP_DISK, "seen", ("service.ostep.large_ms", 13.2, 1)),
    *listed(DISK, OSTEP_DISK, "seen", ("service.ostep.large_mb_s", 0.31, 2)),
    *listed(DISK, OSTEP_DISK, "seen", ("service.ostep.fast_100mb_ms", 806, 0)),
    *listed(DISK, OSTEP_RAID, "seen", ("service.ostep.S", 47.62, 2)),
    *listed(DISK, OSTEP_RAID, "seen", ("service.ostep.R", 0.981, 3)),
    *listed(DISK, GATE, "seen", ("service.gate.2007", 300.0, 1)),
    *listed(MOVE, BRYANT, "memory", ("service.bryant.transfer", 0.008, 3)),
    *listed(DISK, BRYANT, "memory", ("service.bryant.access", 10, 0)),
    # 4 + 2 + 0.005 and 0.2 ms of the controller, which is not in ours.
    *listed(DISK, COD, "memory", ("service.cod.15000", 6.2, 1)),
    # A gateway: 125 packets a second, 2 ms for each; time in it, printed as 2.66 ms.
    *listed(WAIT, GATEWAY, "memory", ("day.jain31.response", 2.7, 1)),
    # Half as long a wait where service is constant.
    *listed(WAIT, KLEINROCK, "memory", ("day.kleinrock.constant", 0.5, 6)),
    # Closed networks.
    *listed(MVA, LAZOWSKA, "seen", ("queue.p117.X", 0.151516, 6), ("queue.p117.R", 4.7998, 4)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N1.R", 6.000, 3), ("queue.jain342.N1.X", 0.100, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N2.R", 7.400, 3), ("queue.jain342.N2.X", 0.175, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N3.R", 9.088, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N4.R", 11.051, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N5.R", 13.256, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N5.Qcpu", 1.088, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N5.QA", 2.365, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N5.QB", 0.388, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N20.R", 56.016, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N20.X", 0.333, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N20.Qcpu", 1.991, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N20.QA", 16.177, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain342.N20.QB", 0.500, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain355.X", 0.264, 3), ("queue.jain355.R", 6.694, 2)),
    *listed(MVA, JAIN, "seen", ("queue.jain355.Ucpu", 0.206, 3)),
    # Printed as 0.618 and 0.412, the demands times the rounded 0.264: two digits hold.
    *listed(MVA, JAIN, "seen", ("queue.jain355.UA", 0.62, 2), ("queue.jain355.UB", 0.41, 2)),
    *listed(MVA, JAIN, "seen", ("queue.jain355.QA", 0.97, 2)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch83.U2", 0.794, 3), ("queue.bolch83.U4", 0.595, 3)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch83.R1", 0.025, 3), ("queue.bolch83.R3", 1.140, 3)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch83.Q1", 0.244, 3), ("queue.bolch83.Q2", 2.261, 3)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch83.Q4", 1.234, 3), ("queue.bolch83.X1", 9.920, 3)),
    # Two servers in a ring, three jobs: 17/7, 28/15 (of both servers together), 11/15.
    *listed(MVA, HARCHOL, "seen", ("queue.harchol.T1", 17 / 7, 9)),
    *listed(MVA, HARCHOL, "seen", ("queue.harchol.X", 28 / 15, 9)),
    *listed(MVA, HARCHOL, "seen", ("queue.harchol.N2", 0.73, 2)),
    # Open networks, as the limit of closed ones with ever more idle customers.
    *listed(MVA, LAZOWSKA, "seen", ("queue.p113.utilisation", 0.182, 3)),
    *listed(MVA, LAZOWSKA, "seen", ("queue.p113.throughput", 36.3, 1)),
    *listed(MVA, LAZOWSKA, "seen", ("queue.p113.queue", 0.222, 3)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch74.U1", 0.8, 1), ("queue.bolch74.R2", 0.043, 3)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch74.R4", 0.0625, 4)),
    *listed(MVA, BOLCH, "seen", ("queue.bolch74.Q1", 4, 1), ("queue.bolch74.Q2", 0.429, 3)),
    *listed(MVA, JAIN, "seen", ("queue.jain341.R1", 0.0192, 4), ("queue.jain341.R2", 0.0345, 4)),
    *listed(MVA, JAIN, "seen", ("queue.jain341.R3", 0.107, 3)),
    # Bounds.
    *listed(WIDE, MENASCE, "re-derived", ("queue.menasce.bound", 7.04, 2)),
    *listed(WIDE, JAIN_BOUNDS, "re-derived", ("queue.jain33.X", 1 / 3, 9)),
    *listed(KNEE, JAIN_BOUNDS, "memory", ("queue.jain33.knee", 3.33, 2)),
    # 6 + (N - 1) 2 x 6 / (6 + 4).
)


def rows(prefix: str) -> list[Published]:
    return [row for row in PUBLISHED if row.key.startswith(prefix + ".")]
