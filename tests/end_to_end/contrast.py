"""How well does text stand out: the contrast ratio of WCAG 2."""

import re

Colour = tuple[int, int, int]


def rgb(text: str) -> Colour:
    """Read ``rgb(26, 26, 26)``, ``#1a1a1a`` or ``#fff``."""
    digits = text.strip().removeprefix("#")
    if digits != text.strip():
        pairs = re.findall("..", digits if len(digits) == 6 else "".join(d * 2 for d in digits))
        red, green, blue = (int(pair, 16) for pair in pairs)
    else:
        red, green, blue = (int(number) for number in re.findall(r"\d+", text)[:3])
    return red, green, blue


def contrast(one: Colour, other: Colour) -> float:
    """Give the contrast ratio of WCAG 2.2, success criterion 1.4.3 (formula from memory)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: Colour) -> float:
    """Give the relative luminance of an sRGB colour of 0 to 255 a channel."""
    shares = [value / 255 for value in colour]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
