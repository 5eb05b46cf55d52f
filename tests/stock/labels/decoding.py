"""What a decoder from elsewhere reads in a picture: of paper, or of an SVG path."""

import re

import numpy as np
import zxingcpp

PIXELS = 6  # of one module


def texts_in(grey):
    """Return the texts of the QR codes in a picture of grey values, in any order."""
    found = zxingcpp.read_barcodes(np.ascontiguousarray(grey))
    return sorted(each.text for each in found if "QR" in str(each.format))


def picture_of(code):
    """Return the picture that an SVG path of dark runs draws."""
    grey = np.full((code.size, code.size), 255, dtype=np.uint8)
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", code.path)
    assert "".join(f"M{x} {y}h{n}v1h-{m}z" for x, y, n, m in runs) == code.path
    for x, y, run, back in runs:
        assert run == back
        grey[int(y), int(x) : int(x) + int(run)] = 0
    return grey.repeat(PIXELS, axis=0).repeat(PIXELS, axis=1)
