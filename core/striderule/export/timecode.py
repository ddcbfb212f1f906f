"""Timecode of film frames. Frame 1 is 00:00:00:00.

Source: SMPTE ST 12-1 (time and control code): at 30000/1001 and 60000/1001 frames a second the drop-frame count skips
the first 2 (4) numbers of every minute but each tenth, written with ";" before the frames; 24000/1001 drops none.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt

_DROPPED = {Fraction(30000, 1001): 2, Fraction(60000, 1001): 4}


def nominal_rate(rate: Fraction) -> int:
    """Whole frames that one second of timecode counts: `rate` to the nearest whole number, halves up, at least 1."""
    return max(1, int(rate + Fraction(1, 2)))


def is_drop_frame(rate: Fraction) -> bool:
    """True at 29.97 and 59.94 frames a second."""
    return rate in _DROPPED


def timecodes(frames: npt.ArrayLike, rate: Fraction) -> list[str]:
    """ "HH:MM:SS:FF" of each film frame, at the project's `rate` (12 fps: FF 0-11); ";" before FF where drop-frame.

    frames: whole numbers from 1. A count past 24 hours starts again at zero, as a recorder's does. FF has as many
    digits as the rate needs, at least 2.
    """
    count = np.asarray(frames, dtype=np.int64).reshape(-1) - 1
    if count.size and count.min() < 0:
        raise ValueError("film frames count from 1")
    fps = nominal_rate(rate)
    dropped = _DROPPED.get(rate, 0)
    if dropped:
        ten_minutes = fps * 600 - dropped * 9
        one_minute = fps * 60 - dropped
        tens, rest = np.divmod(count, ten_minutes)
        # The first minute of ten keeps all its numbers; each of the nine after it skips `dropped` at its start.
        minutes = np.where(rest < dropped, 0, (rest - dropped) // one_minute)
        count = count + dropped * (9 * tens + minutes)
    count = count % (fps * 24 * 3600)
    seconds, ff = np.divmod(count, fps)
    minutes, ss = np.divmod(seconds, 60)
    hh, mm = np.divmod(minutes, 60)
    digits = max(2, len(str(fps - 1)))
    mark = ";" if dropped else ":"
    return [
        f"{h:02d}:{m:02d}:{s:02d}{mark}{f:0{digits}d}"
        for h, m, s, f in zip(hh.tolist(), mm.tolist(), ss.tolist(), ff.tolist(), strict=True)
    ]


def timecode(frame: int, rate: Fraction) -> str:
    """Timecode of one film frame, counted from 1. Raises ValueError below 1."""
    return timecodes([frame], rate)[0]
