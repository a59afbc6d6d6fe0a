"""Published values the performance estimates are held against: value, source, status.

Status: ``seen``: read in a copy of the source or in published data that quotes it;
``re-derived``: worked out again from the rule the source states; ``memory``: from memory only.
A computed value must agree to half a unit of the last digit given.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    key: str
    value: float
    digits: int
    source: str
    status: str

    def agrees(self, computed: float) -> bool:
        return abs(computed - self.value) <= 0.5 * 10.0**-self.digits * (1 + 1e-6)


OSTEP_RAID = "Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 38"
OSTEP_DISK = "Arpaci-Dusseau, Operating Systems: Three Easy Pieces, ch. 37"
SURVEY = "Chen et al., ACM Computing Surveys 26(2), 1994, Table 3"
LAZOWSKA = "Lazowska et al., Quantitative System Performance, 1984"
JAIN = "Jain, The Art of Computer Systems Performance Analysis, 1991"
BOLCH = "Bolch et al., Queueing Networks and Markov Chains, 1998"
MENASCE = "Menasce, Almeida, Dowdy, Performance by Design, 2004, Example 3.9"
COURSE = "University exercise on single-class mean value analysis (public course notes)"
TOOLBOX = "independent open-source queueing toolbox, run on the example of p. 117"
PCI = "PCI Express Base Specification, as tabulated in public interconnect data-rate tables"
SAS = "T10 SAS standards, as tabulated in public link-rate tables"
SATA = "SATA revision 3, as tabulated in public link-rate tables"
LATENCY = "public tables of rotational latency (half a turn)"
LECTURE = "Operating-systems lecture notes, typical disk parameters"

PUBLISHED: tuple[Published, ...] = (
    # Links.
    Published("link.sata.3", 300, 0, SAS, "seen"),
    Published("link.sata.1.5", 150, 0, SAS, "seen"),
    Published("link.sas.6", 600, 0, SAS, "seen"),
    Published("link.sas.12", 1200, 0, SAS, "seen"),
    Published("link.sas.22.5", 2400, 0, SAS, "re-derived"),
    Published("link.sas.12x4", 4800, 0, SAS, "seen"),
    Published("link.sata.6", 600, 0, SATA, "seen"),
    Published("link.pcie.1", 250, 0, PCI, "seen"),
    Published("link.pcie.2", 500, 0, PCI, "seen"),
    Published("link.pcie.3", 985, 0, PCI, "seen"),
    Published("link.pcie.4", 1969, 0, PCI, "seen"),
    Published("link.pcie.5", 3938, 0, PCI, "seen"),
    Published("link.pcie.6", 7.56, 2, PCI, "seen"),  # GB/s
    Published("link.pcie.4x4", 7877, 0, PCI, "seen"),
    Published("link.pcie.4x8", 15754, 0, PCI, "seen"),
    Published("link.pcie.5x16", 63015, 0, PCI, "seen"),
    # Disks.
    Published("service.latency.5400", 5.56, 2, LATENCY, "seen"),
    Published("service.latency.7200", 4.17, 2, LATENCY, "seen"),
    Published("service.latency.10000", 3.00, 2, LATENCY, "seen"),
    Published("service.latency.15000", 2.00, 2, LATENCY, "seen"),
    Published("service.lecture.7200", 4.17, 2, LECTURE, "seen"),
    Published("service.ostep.fast_ms", 6.03, 2, OSTEP_DISK, "seen"),
    # Not listed: the fast drive's 0.66 MB/s, which needs 4 KB = 4000 bytes where the large
    # drive's 0.31 MB/s needs 4096.
    Published("service.ostep.large_ms", 13.2, 1, OSTEP_DISK, "seen"),
    Published("service.ostep.large_mb_s", 0.31, 2, OSTEP_DISK, "seen"),
    Published("service.ostep.fast_100mb_ms", 806, 0, OSTEP_DISK, "seen"),
    Published("service.ostep.S", 47.62, 2, OSTEP_RAID, "seen"),
    Published("service.ostep.R", 0.981, 3, OSTEP_RAID, "seen"),
    # Open networks.
    Published("queue.p113.utilisation", 0.182, 3, LAZOWSKA, "seen"),
    Published("queue.p113.throughput", 36.3, 1, LAZOWSKA, "seen"),
    Published("queue.p113.queue", 0.222, 3, LAZOWSKA, "seen"),
    Published("queue.bolch74.U1", 0.8, 1, BOLCH, "seen"),
    Published("queue.bolch74.R2", 0.043, 3, BOLCH, "seen"),
    Published("queue.bolch74.R4", 0.0625, 4, BOLCH, "seen"),
    Published("queue.bolch74.Q1", 4, 3, BOLCH, "seen"),
    Published("queue.bolch74.Q2", 0.429, 3, BOLCH, "seen"),
    Published("queue.jain341.R1", 0.0192, 4, JAIN, "seen"),
    Published("queue.jain341.R2", 0.0345, 4, JAIN, "seen"),
    Published("queue.jain341.R3", 0.107, 3, JAIN, "seen"),
    # Closed networks.
    Published("queue.p117.approx.Q1", 0.0973, 4, LAZOWSKA, "seen"),
    Published("queue.p117.approx.Q2", 0.4021, 4, LAZOWSKA, "seen"),
    Published("queue.p117.approx.Q3", 0.2359, 4, LAZOWSKA, "seen"),
    Published("queue.p117.approx.X", 0.1510, 4, LAZOWSKA, "seen"),
    Published("queue.p117.approx.R", 4.87, 2, LAZOWSKA, "seen"),
    Published("queue.p117.exact.X", 0.151516, 6, TOOLBOX, "seen"),
    Published("queue.p117.exact.R", 4.7998, 4, TOOLBOX, "seen"),
    Published("queue.jain342.N1.R", 6.000, 3, JAIN, "seen"),
    Published("queue.jain342.N1.X", 0.100, 3, JAIN, "seen"),
    Published("queue.jain342.N2.R", 7.400, 3, JAIN, "seen"),
    Published("queue.jain342.N2.X", 0.175, 3, JAIN, "seen"),
    Published("queue.jain342.N3.R", 9.088, 3, JAIN, "seen"),
    Published("queue.jain342.N4.R", 11.051, 3, JAIN, "seen"),
    Published("queue.jain342.N5.R", 13.256, 3, JAIN, "seen"),
    Published("queue.jain342.N5.Qcpu", 1.088, 3, JAIN, "seen"),
    Published("queue.jain342.N5.QA", 2.365, 3, JAIN, "seen"),
    Published("queue.jain342.N5.QB", 0.388, 3, JAIN, "seen"),
    Published("queue.jain342.N20.R", 56.016, 3, JAIN, "seen"),
    Published("queue.jain342.N20.X", 0.333, 3, JAIN, "seen"),
    Published("queue.jain342.N20.Qcpu", 1.991, 3, JAIN, "seen"),
    Published("queue.jain342.N20.QA", 16.177, 3, JAIN, "seen"),
    Published("queue.jain342.N20.QB", 0.500, 3, JAIN, "seen"),
    Published("queue.jain355.X", 0.264, 3, JAIN, "seen"),
    Published("queue.jain355.R", 6.694, 2, JAIN, "seen"),
    Published("queue.jain355.Ucpu", 0.206, 3, JAIN, "seen"),
    # Printed as 0.618 and 0.412, the demands times the rounded 0.264: two digits hold.
    Published("queue.jain355.UA", 0.62, 2, JAIN, "seen"),
    Published("queue.jain355.UB", 0.41, 2, JAIN, "seen"),
    Published("queue.jain355.QA", 0.97, 2, JAIN, "seen"),
    Published("queue.bolch83.U2", 0.794, 3, BOLCH, "seen"),
    Published("queue.bolch83.U4", 0.595, 3, BOLCH, "seen"),
    Published("queue.bolch83.R1", 0.025, 3, BOLCH, "seen"),
    Published("queue.bolch83.R3", 1.140, 3, BOLCH, "seen"),
    Published("queue.bolch83.Q1", 0.244, 3, BOLCH, "seen"),
    Published("queue.bolch83.Q2", 2.261, 3, BOLCH, "seen"),
    Published("queue.bolch83.Q4", 1.234, 3, BOLCH, "seen"),
    Published("queue.bolch83.X1", 9.920, 3, BOLCH, "seen"),
    Published("queue.course.N1.X", 0.4, 6, COURSE, "seen"),
    Published("queue.course.N2.R", 2.0, 6, COURSE, "seen"),
    Published("queue.menasce.bound", 7.04, 2, MENASCE, "re-derived"),
)


def rows(prefix: str) -> list[Published]:
    return [row for row in PUBLISHED if row.key.startswith(prefix + ".")]
