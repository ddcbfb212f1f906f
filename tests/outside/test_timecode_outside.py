"""Our timecode against the `timecode` package (1.5.1), an independent reading of SMPTE ST 12-1."""

from fractions import Fraction

import pytest

from striderule.export.timecode import timecodes

outside = pytest.importorskip("timecode")


@pytest.mark.parametrize(
    ("rate", "name"),
    [
        (Fraction(12), "12"),
        (Fraction(24), "24"),
        (Fraction(25), "25"),
        (Fraction(30), "30"),
        (Fraction(24000, 1001), "23.976"),
        (Fraction(30000, 1001), "29.97"),
        (Fraction(60000, 1001), "59.94"),
    ],
)
def test_timecode_agrees_with_the_timecode_package(rate, name):
    fps = round(rate)
    frames = sorted({*range(1, 200), *(m * 60 * fps + k for m in range(1, 64) for k in range(-6, 7))})
    if name == "12":
        # The package writes any rate below ten digits of frames the same way; 12 goes in as a plain number.
        theirs = [str(outside.Timecode(12, frames=frame)) for frame in frames]
    else:
        theirs = [str(outside.Timecode(name, frames=frame)) for frame in frames]
    assert timecodes(frames, rate) == theirs
