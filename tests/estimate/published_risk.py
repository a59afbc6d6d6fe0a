"""Published values the risk, wear, power and mass estimates are held against.

Status: ``seen``: read in a copy of the source or in published data that quotes it;
``re-derived``: worked out again from the formula the source states; ``memory``: from memory of the
source, and worked out again. A computed value must agree to half a unit of the last digit given.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    key: str
    value: float
    digits: int  # after the point; negative: zeros before it that carry no information
    unit: str
    source: str
    status: str

    def agrees(self, computed: float) -> bool:
        return abs(computed - self.value) <= 0.5 * 10.0**-self.digits * (1 + 1e-9)


PGK = "Patterson, Gibson, Katz, SIGMOD 1988"
CHEN = "Chen et al., ACM Computing Surveys 26(2), 1994, section 3.4"
TABLE4 = "Chen et al., ACM Computing Surveys 26(2), 1994, Tables 4 and 5"
ELERATH = "Elerath and Pecht, DSN 2007"
SCHROEDER = "Schroeder and Gibson, FAST 2007"
PINHEIRO = "Pinheiro, Weber, Barroso, FAST 2007"
MANEAS = "Maneas et al., FAST 2020"
HETZLER = "Hetzler, article series on system-level reliability, 2012"
ANDERSON = "Anderson and Dahlin, Operating Systems: Principles and Practice, 2014, reliable storage"
READ_QA = "Public question and answer on read errors during a rebuild"
READ_README = "Public notes on read errors with nine drives of 8 TB"
PARALLEL_QA = "Public course exercise and answers, drives in parallel"
DATASHEET = "Public solid-state drive data sheet, explanation of terms"
NIST = "NIST SP 811, appendix B, as reprinted in public conversion tables"
NIOSH = "Waters, Putz-Anderson, Garg, DHHS (NIOSH) 94-110, as quoted in a civil engineering manual"

PUBLISHED_RISK: tuple[Published, ...] = (
    Published("1988.level5.g10", 820_000, -4, "h", PGK, "memory"),
    Published("1988.level5.g25", 346_000, -3, "h", PGK, "memory"),
    Published("1988.mirrored", 4_500_000, -5, "h", PGK, "memory"),
    Published("1994.one_redundant", 3000, -3, "years", CHEN, "seen"),
    Published("1994.drive_readable", 99.96, 2, "%", TABLE4, "seen"),
    Published("1994.two_drives", 285, 0, "years", TABLE4, "seen"),
    Published("1994.two_drives.10y", 3.4, 1, "%", TABLE4, "seen"),
    Published("1994.crash", 154, 0, "years", TABLE4, "seen"),
    Published("1994.crash.10y", 6.3, 1, "%", TABLE4, "seen"),
    Published("1994.sector", 36, 0, "years", TABLE4, "seen"),
    Published("1994.sector.10y", 24.4, 1, "%", TABLE4, "seen"),
    Published("1994.all", 26, 0, "years", TABLE4, "seen"),
    Published("1994.all.10y", 31.6, 1, "%", TABLE4, "seen"),
    Published("1994.no_crash", 32, 0, "years", TABLE4, "seen"),
    # Printed from the rounded 32 years: the unrounded 31.8 years would give 27.0.
    Published("1994.no_crash.10y", 26.8, 1, "%", TABLE4, "seen"),
    Published("2007.mttdl", 36_162, 0, "years", ELERATH, "memory"),
    Published("2007.losses_per_1000", 0.277, 3, "losses in 10 years", ELERATH, "memory"),
    Published("parallel.repaired", 1.5e11, -10, "h", PARALLEL_QA, "seen"),
    Published("parallel.2", 3 / 2, 12, "lifetimes", PARALLEL_QA, "seen"),
    Published("parallel.3", 11 / 6, 12, "lifetimes", PARALLEL_QA, "seen"),
    Published("parallel.4", 25 / 12, 12, "lifetimes", PARALLEL_QA, "seen"),
    Published("afr.1Mh", 0.88, 2, "% a year", HETZLER, "seen"),
    Published("afr.sheet", 0.88, 2, "% a year", SCHROEDER, "memory"),
    Published("afr.sheet.1.5Mh", 0.58, 2, "% a year", SCHROEDER, "memory"),
    Published("field.hdd.mean", 3.01, 2, "% a year", SCHROEDER, "seen"),
    Published("field.hdd.third_year", 8.6, 1, "% a year", PINHEIRO, "seen"),
    Published("field.ssd.mean", 0.22, 2, "% a year", MANEAS, "seen"),
    Published("field.ssd.worst", 1.2, 1, "% a year", MANEAS, "seen"),
    Published("read.1TB", 8, 0, "%", HETZLER, "seen"),
    Published("read.500GB.mean", 0.04, 2, "unreadable sectors", ANDERSON, "seen"),
    Published("read.6TB.1e-14", 38, 0, "%", READ_QA, "seen"),
    Published("read.6TB.1e-15", 4.7, 1, "%", READ_QA, "seen"),
    Published("read.3TB.1e-14", 21, 0, "%", READ_QA, "seen"),
    Published("read.3TB.1e-15", 2.4, 1, "%", READ_QA, "seen"),
    Published("read.72TB.1e-14.success", 0.3, 1, "%", READ_README, "seen"),
    Published("read.72TB.1e-15.success", 56.2, 1, "%", READ_README, "seen"),
    Published("wear.200GB", 365, 0, "TB", DATASHEET, "seen"),
    Published("wear.200GB.10", 3650, 0, "TB", DATASHEET, "seen"),
    Published("power.btu", 3.412, 3, "Btu/h", NIST, "seen"),
    Published("power.joule", 1055, 0, "J", NIST, "seen"),
    Published("mass.kg", 23, 0, "kg", NIOSH, "seen"),
    Published("mass.lb", 51, 0, "lb", NIOSH, "seen"),
)
