"""Broken price lists: what is wrong with the terms."""

from tests.catalogue.breaking import TERMS_TOML, broken, terms

IN_TERMS = [
    broken(
        "syntax error",
        terms("margin_floor_pct = 10", "margin_floor_pct = "),
        (TERMS_TOML, None, "", "is not well-formed TOML (Invalid value (at line 3,"),
    ),
    broken(
        "key twice",
        terms("[rates]\n", "[rates]\nEUR = 2\n"),
        (TERMS_TOML, None, "", "is not well-formed TOML (Cannot overwrite a value"),
    ),
    broken(
        "a whole number past reading",
        terms("quote_valid_days = 30", f"quote_valid_days = {'9' * 5000}"),
        (TERMS_TOML, 2, "", "is a number of a thousand digits or more; give a number"),
    ),
    broken(
        "a hexadecimal one",
        terms("quote_valid_days = 30", f"quote_valid_days = 0x{'F' * 5000}"),
        (TERMS_TOML, 2, "", "is a number of a thousand digits or more; give a number"),
    ),
    broken(
        "an exponent past reading",
        terms("EUR = 1.164", f"EUR = 1e{'9' * 400}"),
        (TERMS_TOML, 6, "", "is a number with an exponent of eighteen digits or more; give"),
    ),
    broken(
        "a list for a currency",
        terms('currency = "GBP"', "currency = []"),
        (TERMS_TOML, None, "currency", "is not text; put it between double quotes"),
    ),
    broken(
        "a key of half a million parts",
        terms("quote_valid_days = 30", f"quote_valid_days.{'a.' * 500_000}a = 30"),
        (TERMS_TOML, None, "", "is larger than 200,000 bytes"),
    ),
    broken(
        "a key of fifty thousand parts",
        terms("quote_valid_days = 30", f"{'a.' * 50_000}a = 30"),
        (TERMS_TOML, 2, "", "is a key of twenty parts or more; name one of the keys"),
    ),
    broken(
        "a tax code with what cannot be seen",
        terms("S = 20", 'S = 20\n"R\u200b" = 5'),
        (TERMS_TOML, None, "tax.R\ufffd", "has an invisible character, U+200B (zero width space)"),
    ),
    broken(
        "nested past reading",
        terms("margin_floor_pct = 10", f"margin_floor_pct = {'[' * 20000}"),
        (TERMS_TOML, None, "", "is not well-formed TOML"),
    ),
    broken(
        "no month of instalments",
        terms("[risk]", "[instalments]\nmonths = []\nyearly_rate_pct = 5\n\n[risk]"),
        (TERMS_TOML, None, "instalments.months", "names no number of months; name some, such as"),
    ),
    broken(
        "one instalment, and one of half a month",
        terms("[risk]", "[instalments]\nmonths = [1, 12.5]\nyearly_rate_pct = 5\n\n[risk]"),
        (TERMS_TOML, None, "instalments.months.0", "'1' is too small; give whole months, 2 to 120"),
        (TERMS_TOML, None, "instalments.months.1", "'12.5' is not a whole number; give whole"),
    ),
    broken(
        "instalments without a rate, from less than nothing",
        terms("[risk]", "[instalments]\nmonths = [12]\nfrom_amount = -1\n\n[risk]"),
        (TERMS_TOML, None, "instalments.yearly_rate_pct", "is missing"),
        (TERMS_TOML, None, "instalments.from_amount", "'-1' is negative"),
    ),
    broken(
        "a tax number of the seller with a slip in it",
        terms('contact = "none"', 'contact = "none"\ntax_id = "GB 980 7806 85"'),
        (TERMS_TOML, None, "seller.tax_id", "'GB 980 7806 85' looks like a tax number of GB, but"),
    ),
    broken(
        "unknown key",
        terms("quote_valid_days", "colour = 1\nquote_valid_days"),
        (TERMS_TOML, None, "colour", "'1' is not a known name; rename or remove it"),
    ),
    broken(
        "unknown key in a table",
        terms("per_kg = 1.15", "per_kg = 1.15\nper_mile = 2"),
        (TERMS_TOML, None, "freight.per_mile", "is not a known name"),
    ),
    broken(
        "hours of burn-in that are none",
        terms("[risk]", "[bench]\nsoak_hours = 0\n\n[risk]"),
        (TERMS_TOML, None, "bench.soak_hours", "give whole hours, 1 to 1000"),
    ),
    broken(
        "scrubs with no day between them",
        terms("advise_loss_pct = 100", "advise_loss_pct = 100\nscrub_days = 0"),
        (TERMS_TOML, None, "risk.scrub_days", "give whole days between two scrubs"),
    ),
    broken(
        "a restore that never comes on",
        terms("advise_loss_pct = 100", "advise_loss_pct = 100\nrestore_mb_s = 0"),
        (TERMS_TOML, None, "risk.restore_mb_s", "give MB/s above 0, 0.1 to 100000"),
    ),
    broken(
        "missing key",
        terms("margin_floor_pct = 10\n", ""),
        (TERMS_TOML, None, "margin_floor_pct", "is missing; give it a value"),
    ),
    broken(
        "missing table",
        terms("[freight]\nbase = 16.50\nper_kg = 1.15\n", ""),
        (TERMS_TOML, None, "freight", "is missing; give it a value"),
    ),
    broken(
        "number in place of a table",
        lambda folder: (
            terms("[rates]\nEUR = 1.164\nJPY = 196.35\nKWD = 0.3985\n", "")(folder),
            terms("quote_valid_days", "rates = 5\nquote_valid_days")(folder),
        ),
        (TERMS_TOML, None, "rates", "'5' is not a table; give it keys of its own"),
    ),
    broken(
        "one discount in place of a list",
        terms("[[volume_discount]]", "[volume_discount]"),
        (TERMS_TOML, None, "volume_discount", "is not a list of tables; head each of them by"),
    ),
    broken(
        "unknown currency",
        terms('currency = "GBP"', 'currency = "GBQ"'),
        (TERMS_TOML, None, "currency", "'GBQ' is not a currency; use a current ISO 4217 code"),
    ),
    broken(
        "currency without a minor unit",
        terms('currency = "GBP"', 'currency = "XAU"'),
        (TERMS_TOML, None, "currency", "'XAU' is not a currency"),
    ),
    broken(
        "number in place of a currency",
        terms('currency = "GBP"', "currency = 826"),
        (TERMS_TOML, None, "currency", "'826' is not text; put it between double quotes"),
    ),
    broken(
        "list in place of a currency",
        terms('currency = "GBP"', 'currency = ["GBP"]'),
        (TERMS_TOML, None, "currency", "is not text; put it between double quotes"),
    ),
    broken(
        "rate of an unknown currency",
        terms("EUR = 1.164", "EUX = 1.164"),
        (TERMS_TOML, None, "rates.EUX", "'EUX' is not a currency"),
    ),
    broken(
        "rate of 0",
        terms("EUR = 1.164", "EUR = 0"),
        (TERMS_TOML, None, "rates.EUR", "'0' is too small; give units per unit of the list's"),
    ),
    broken(
        "negative rate",
        terms("EUR = 1.164", "EUR = -1"),
        (TERMS_TOML, None, "rates.EUR", "'-1' is negative"),
    ),
    broken(
        "endless rate",
        terms("EUR = 1.164", "EUR = 1e400"),
        (TERMS_TOML, None, "rates.EUR", "is out of any plausible range"),
    ),
    broken(
        "rate that is no number",
        terms("EUR = 1.164", "EUR = nan"),
        (TERMS_TOML, None, "rates.EUR", "'NaN' is not a finite number"),
    ),
    broken(
        "own currency at another rate",
        terms("EUR = 1.164", "EUR = 1.164\nGBP = 2"),
        (TERMS_TOML, None, "rates.GBP", "'2' is the price list's own currency, yet has a rate"),
    ),
    broken(
        "tax of 101 %",
        terms("S = 20", "S = 101"),
        (TERMS_TOML, None, "tax.S", "'101' is too large; give a percentage from 0 to 100"),
    ),
    broken(
        "discount above 100 %",
        terms("pct = 2.5", "pct = 250"),
        (TERMS_TOML, None, "volume_discount.0.pct", "'250' is too large; give a percentage"),
    ),
    broken(
        "discount from no builds on",
        terms("min_builds = 5", "min_builds = 0"),
        (TERMS_TOML, None, "volume_discount.0.min_builds", "'0' is too small"),
    ),
    broken(
        "valid for infinity",
        terms("quote_valid_days = 30", "quote_valid_days = inf"),
        (TERMS_TOML, None, "quote_valid_days", "'Infinity' is not a finite number; give whole"),
    ),
    broken(
        "valid if true",
        terms("quote_valid_days = 30", "quote_valid_days = true"),
        (TERMS_TOML, None, "quote_valid_days", "'True' is not a number; give whole days"),
    ),
    broken(
        "no risk horizon",
        terms("years = 5", "years = 0"),
        (TERMS_TOML, None, "risk.years", "'0' is too small; give years above 0"),
    ),
    broken(
        "blank seller",
        terms('name = "Nobody at all"', 'name = " "'),
        (TERMS_TOML, None, "seller.name", "is blank; write a few words"),
    ),
    broken(
        "wrong currency and wrong tax",  # both in one go
        lambda folder: (
            terms('currency = "GBP"', 'currency = "GBQ"')(folder),
            terms("S = 20", "S = 101")(folder),
        ),
        (TERMS_TOML, None, "tax.S", "is too large"),
        (TERMS_TOML, None, "currency", "'GBQ' is not a currency"),
    ),
]
