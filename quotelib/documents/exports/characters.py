"""Which characters may stand in a file that is XML, by itself or inside."""

import re

# All but what XML 1.0 calls a Char (5th edition, production 2): most control characters, lone
# surrogates, two at the end of the first plane.
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def for_xml(text: str) -> str:
    """Put the sign for a character that cannot be shown in place of each that XML does not take."""
    return _NOT_XML.sub("\ufffd", text)
