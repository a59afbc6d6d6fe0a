"""A reader of barcodes that others wrote."""

import zxingcpp
from PIL import Image


def read(image: Image.Image) -> list[tuple[str, str]]:
    """Read every barcode of a picture: its text, and what kind it is."""
    # As printed only: at half the printer's dots the reader makes a second text of some.
    found = zxingcpp.read_barcodes(image, try_downscale=False)
    return [(b.text, str(b.format)) for b in found]
