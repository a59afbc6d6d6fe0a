"""Published values the risk, wear, power and mass estimates are held against; see `published`.

``memory`` stands here for: from memory of the source, and worked out again.
"""

from __future__ import annotations

from tests.estimate.published import Published, listed

PGK = "Patterson, Gibson, Katz, A Case for RAID, SIGMOD 1988, Tables II and VI"
CHEN = "Chen et al., ACM Computing Surveys 26(2), 1994, section 3.4"
TABLE4 = "Chen et al., ACM Computing Surveys 26(2), 1994, Tables 4 and 5"
TABLE6 = "Chen et al., ACM Computing Surveys 26(2), 1994, Tables 4 and 6"
ELERATH = "Elerath and Pecht, DSN 2007"
SCHROEDER = "Schroeder and Gibson, FAST 2007"
PINHEIRO = "Pinheiro, Weber, Barroso, FAST 2007"
MANEAS = "Maneas et al., FAST 2020"
HETZLER = "Hetzler, article series on system-level reliability, 2012"
ANDERSON = "Anderson and Dahlin, Operating Systems: Principles and Practice, 2014, reliable storage"
RARE = "Bairavasundaram, Goodson, Pasupathy, Schindler, SIGMETRICS 2007"
CORRUPTION = "Bairavasundaram et al., FAST 2008, comparison with latent sector errors"
FORD = "Ford et al., Availability in Globally Distributed Storage Systems, OSDI 2010, section 8.2"
FLASH = "Schroeder, Lagisetty, Merchant, FAST 2016"
RUTTER = "Rutter, How to Spot a Psychopath (science pages), on why arrays of 12 TB fail to rebuild"
HANDY = "Handy, The SSD Guy, Comparing DWPD to TBW"
NIST = "NIST SP 811, appendix B"
DOE = "U.S. Department of Energy, Estimating Appliance and Home Electronic Energy Use"
APOGEE = "Apogee, Fundamentals of Electricity, Determining kWh Use"
NIOSH = "Waters, Putz-Anderson, Garg, DHHS (NIOSH) 94-110, as quoted in a civil engineering manual"

MEAN = "reliability.loss.mean_of_groups"
WITHIN = "reliability.loss.loss_and_mean"
ANNUAL = "reliability.field_rates.mttf_from_annual_pct"
FIELD = "reliability.field_rates.mttf_range"
UNREADABLE = "reliability.protection.unreadable_probability"
SECTORS = "reliability.protection.unreadable_sectors"
LATENT = "reliability.latent_errors.error_rates"
DATA = "shape.ArrayShape.data_members"
WEAR = "running.rated_writes_tb"
HEAT = "running.heat_btu_per_hour"
ENERGY = "running.kwh_per_year"
COST = "running.cost_per_year"
POWER = "running.mean_watts"

PUBLISHED_RISK: tuple[Published, ...] = (
    # The chain, in hours and years. The papers' formulas leave out what the chain counts: a part
    # of (2 n - 1) times repair over lifetime, 1 to 2 in a thousand. Digits below that are not held.
    *listed(MEAN, PGK, "memory", ("1988.level0", 300, 0), ("1988.level2.g10", 494_500, -4)),
    *listed(MEAN, PGK, "memory", ("1988.level5.g10", 820_000, -4)),
    *listed(MEAN, PGK, "memory", ("1988.level5.g25", 346_000, -4)),
    *listed(MEAN, PGK, "memory", ("1988.mirrored", 4_500_000, -5)),
    *listed(MEAN, CHEN, "seen", ("1994.one_redundant", 3000, -3)),
    *listed(MEAN, TABLE4, "seen", ("1994.two_drives", 285, -1), ("1994.sector", 36, 0)),
    *listed(MEAN, TABLE4, "seen", ("1994.no_crash", 32, 0)),
    # Printed as 47,697 years, with a chance of reading a disk that was rounded on the way.
    *listed(MEAN, TABLE6, "seen", ("1994.pq.sector", 47_700, -2)),
    # Recovery a tenth faster, three copies, in per cent fewer losses; "times mu squared" for these.
    *listed(MEAN, FORD, "seen", ("2010.recovery.three", 19, 0)),
    *listed(MEAN, ELERATH, "memory", ("2007.mttdl", 36_162, -2)),
    # Chances within ten years, in per cent; losses of 1000 groups in ten years.
    *listed(WITHIN, TABLE4, "seen", ("1994.two_drives.10y", 3.4, 1), ("1994.sector.10y", 24.4, 1)),
    # Printed as 26.8, from the rounded 32 years: the unrounded 31.8 years give 27.0.
    *listed(WITHIN, TABLE4, "seen", ("1994.no_crash.10y", 27, 0)),
    *listed(WITHIN, ELERATH, "memory", ("2007.losses_per_1000", 0.277, 2)),
    # Capacity, in per cent of the drives.
    *listed(DATA, PGK, "memory", ("1988.usable.g10", 91, 0), ("1988.usable.g25", 96, 0)),
    *listed(DATA, PGK, "memory", ("1988.usable.mirrored", 50, 0)),
    # Rates in per cent a year.
    *listed(ANNUAL, HETZLER, "seen", ("afr.1Mh", 0.88, 2)),
    *listed(ANNUAL, SCHROEDER, "seen", ("afr.sheet", 0.88, 2)),
    *listed(ANNUAL, SCHROEDER, "memory", ("afr.sheet.1.5Mh", 0.58, 2)),
    *listed(FIELD, SCHROEDER, "seen", ("field.hdd.mean", 3.01, 2)),
    *listed(FIELD, PINHEIRO, "seen", ("field.hdd.third_year", 8.6, 1)),
    *listed(FIELD, MANEAS, "seen", ("field.ssd.mean", 0.22, 2), ("field.ssd.worst", 1.2, 1)),
    # Drives of a hundred with an unnoticed error, in a year, 24 months and four years.
    *listed(LATENT, CORRUPTION, "seen", ("latent.hdd.enterprise", 1.4, 1)),
    *listed(LATENT, RARE, "seen", ("latent.hdd.worst", 20, 0)),
    *listed(LATENT, FLASH, "seen", ("latent.ssd.best", 20, 0), ("latent.ssd.worst", 63, 0)),
    # Reading whole drives: per cent, and a number of sectors.
    *listed(UNREADABLE, TABLE4, "seen", ("1994.drive_readable", 99.96, 2)),
    *listed(UNREADABLE, HETZLER, "seen", ("read.1TB", 8, 0)),
    *listed(UNREADABLE, RUTTER, "seen", ("read.as_rated", 63.2, 1)),
    *listed(SECTORS, ANDERSON, "seen", ("read.500GB.mean", 0.04, 2)),
    # Terabytes, with 1000 GB each: the text has 1024 and names 1000 as the other way.
    *listed(WEAR, HANDY, "re-derived", ("wear.200GB", 365, 0), ("wear.200GB.10", 3650, 0)),
    # Btu an hour for a watt, joules of a Btu.
    *listed(HEAT, NIST, "seen", ("power.btu", 3.412, 3), ("power.joule", 1055, 0)),
    # A fan of 200 W, 4 hours a day on 120 days; a computer of 270 W, 4 hours every day.
    *listed(ENERGY, DOE, "seen", ("power.fan_kwh", 96, 0), ("power.computer_kwh", 394, 0)),
    *listed(
        COST, DOE, "seen", ("power.fan_dollars", 8.16, 2), ("power.computer_dollars", 33.51, 2)
    ),
    # A refrigerator of 1200 W that runs a fifth of the time: kWh a day and a year.
    *listed(POWER, APOGEE, "seen", ("power.fridge_day", 5.76, 2)),
    *listed(ENERGY, APOGEE, "seen", ("power.fridge_year", 2100, -2)),
)

LIFTING: tuple[Published, ...] = listed(
    # A constant, no function: quotes read it, but nothing can be traced.
    "running.LIFTING_CONSTANT_KG",
    NIOSH,
    "seen",
    ("mass.kg", 23, 0),
    ("mass.lb", 51, 0),
)
