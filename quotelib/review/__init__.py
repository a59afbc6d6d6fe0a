"""Is a price list fit to sell from?"""
