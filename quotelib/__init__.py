"""A quoting workbook for people who sell servers with RAID storage.

Importing it is light: what draws charts or runs notebooks is loaded when it is first needed.
"""

__version__ = "0.1.0"
