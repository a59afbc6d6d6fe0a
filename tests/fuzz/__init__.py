"""Is anything that stands in an input file answered or told, in bounded time, and nothing torn?"""
