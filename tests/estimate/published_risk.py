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
HOLLAND = "Holland and Gibson, ASPLOS 1992"
CHEN = "Chen et al., ACM Computing Surveys 26(2), 1994, section 3.4"
TABLE4 = "Chen et al., ACM Computing Surveys 26(2), 1994, Tables 4 and 5"
TABLE6 = "Chen et al., ACM Computing Surveys 26(2), 1994, Tables 4 and 6"
ELERATH = "Elerath and Pecht, DSN 2007"
SCHROEDER = "Schroeder and Gibson, FAST 2007"
PINHEIRO = "Pinheiro, Weber, Barroso, FAST 2007"
SECTORS = "Bairavasundaram, Goodson, Pasupathy, Schindler, SIGMETRICS 2007"
CORRUPTION = "Bairavasundaram et al., FAST 2008, comparison with latent sector errors"
FORD = "Ford et al., Availability in Globally Distributed Storage Systems, OSDI 2010, section 8.2"
FLASH = "Schroeder, Lagisetty, Merchant, FAST 2016"
MANEAS = "Maneas et al., FAST 2020"
HETZLER = "Hetzler, article series on system-level reliability, 2012"
ANDERSON = "Anderson and Dahlin, Operating Systems: Principles and Practice, 2014, reliable storage"
DATASHEET = "Public solid-state drive data sheet, explanation of terms"
NIST = "NIST SP 811, appendix B, as reprinted in public conversion tables"
NIOSH = "Waters, Putz-Anderson, Garg, DHHS (NIOSH) 94-110, as quoted in a civil engineering manual"

PUBLISHED_RISK: tuple[Published, ...] = (
    Published("1988.level0", 300, 0, "h", PGK, "memory"),
    Published("1988.level2.g10", 494_500, -2, "h", PGK, "memory"),
    Published("1988.level5.g10", 820_000, -4, "h", PGK, "memory"),
    Published("1988.level5.g25", 346_000, -3, "h", PGK, "memory"),
    Published("1988.mirrored", 4_500_000, -5, "h", PGK, "memory"),
    # 949 cylinders of 14 tracks of 48 sectors of 512 bytes, 13.9 ms a turn.
    Published("1992.sweep", 3, 0, "min", HOLLAND, "memory"),
    Published("1994.one_redundant", 3000, -3, "years", CHEN, "seen"),
    Published("1994.read.100GB", 0.8, 1, "%", CHEN, "seen"),
    Published("1994.drive_readable", 99.96, 2, "%", TABLE4, "seen"),
    Published("1994.two_drives", 285, 0, "years", TABLE4, "seen"),
    Published("1994.two_drives.10y", 3.4, 1, "%", TABLE4, "seen"),
    Published("1994.sector", 36, 0, "years", TABLE4, "seen"),
    Published("1994.sector.10y", 24.4, 1, "%", TABLE4, "seen"),
    Published("1994.no_crash", 32, 0, "years", TABLE4, "seen"),
    # Printed from the rounded 32 years: the unrounded 31.8 years would give 27.0.
    Published("1994.no_crash.10y", 26.8, 1, "%", TABLE4, "seen"),
    # Printed as 47,697, with a chance of reading a disk that was rounded on the way.
    Published("1994.pq.sector", 47_700, -1, "years", TABLE6, "seen"),
    Published("1994.pq.sector.10y", 0.02, 2, "%", TABLE6, "seen"),
    Published("2007.mttdl", 36_162, 0, "years", ELERATH, "memory"),
    Published("2007.losses_per_1000", 0.277, 3, "losses in 10 years", ELERATH, "memory"),
    # Recovery a tenth faster, three copies; "times mu squared" for these.
    Published("2010.recovery.three", 19, 0, "% fewer losses", FORD, "seen"),
    Published("afr.1Mh", 0.88, 2, "% a year", HETZLER, "seen"),
    Published("afr.sheet", 0.88, 2, "% a year", SCHROEDER, "seen"),
    Published("afr.sheet.1.5Mh", 0.58, 2, "% a year", SCHROEDER, "memory"),
    Published("field.hdd.mean", 3.01, 2, "% a year", SCHROEDER, "seen"),
    Published("field.hdd.third_year", 8.6, 1, "% a year", PINHEIRO, "seen"),
    Published("field.ssd.mean", 0.22, 2, "% a year", MANEAS, "seen"),
    Published("field.ssd.worst", 1.2, 1, "% a year", MANEAS, "seen"),
    Published("latent.hdd.enterprise", 1.4, 1, "% of drives a year", CORRUPTION, "seen"),
    Published("latent.hdd.worst", 20, 0, "% of drives in 24 months", SECTORS, "seen"),
    Published("latent.ssd.best", 20, 0, "% of drives in 4 years", FLASH, "seen"),
    Published("latent.ssd.worst", 63, 0, "% of drives in 4 years", FLASH, "seen"),
    Published("read.1TB", 8, 0, "%", HETZLER, "seen"),
    Published("read.500GB.mean", 0.04, 2, "unreadable sectors", ANDERSON, "seen"),
    Published("wear.200GB", 365, 0, "TB", DATASHEET, "seen"),
    Published("wear.200GB.10", 3650, 0, "TB", DATASHEET, "seen"),
    Published("power.btu", 3.412, 3, "Btu/h", NIST, "seen"),
    Published("power.joule", 1055, 0, "J", NIST, "seen"),
    Published("mass.kg", 23, 0, "kg", NIOSH, "seen"),
    Published("mass.lb", 51, 0, "lb", NIOSH, "seen"),
)
