"""Timecode. Source: SMPTE ST 12-1; the hour of 107,892 frames is in the standard."""

from fractions import Fraction

import pytest

from striderule.export.timecode import timecode, timecodes

DROP = Fraction(30000, 1001)


def test_the_first_frame_of_a_film_is_at_zero():
    assert timecode(1, Fraction(12)) == "00:00:00:00"


def test_twelve_frames_a_second_count_their_frames_from_0_to_11():
    assert timecode(12, Fraction(12)) == "00:00:00:11"
    assert timecode(13, Fraction(12)) == "00:00:01:00"


def test_23_976_counts_24_frames_a_second_without_drops():
    film = Fraction(24000, 1001)
    assert timecode(24 * 60 + 1, film) == "00:01:00:00"
    assert timecode(24 * 3600 + 1, film) == "01:00:00:00"


def test_29_97_skips_two_numbers_at_each_minute_but_the_tenth():
    assert timecode(1800, DROP) == "00:00:59;29"
    assert timecode(1801, DROP) == "00:01:00;02"
    assert timecode(17983, DROP) == "00:10:00;00"


def test_29_97_has_107892_frames_in_an_hour():
    assert timecode(107892 + 1, DROP) == "01:00:00;00"


def test_59_94_skips_four_numbers_at_each_minute_but_the_tenth():
    assert timecode(3601, Fraction(60000, 1001)) == "00:01:00;04"
    assert timecode(215784 + 1, Fraction(60000, 1001)) == "01:00:00;00"


def test_every_drop_frame_number_of_two_hours_is_new_and_follows_the_last():
    codes = timecodes(range(1, 2 * 107892 + 1), DROP)
    assert len(set(codes)) == len(codes)
    assert codes == sorted(codes)


def test_a_count_past_a_day_starts_again():
    assert timecode(24 * 3600 * 12 + 1, Fraction(12)) == "00:00:00:00"


def test_a_rate_above_a_hundred_gets_three_frame_digits():
    assert timecode(120, Fraction(120)) == "00:00:00:119"


def test_frames_below_one_are_refused():
    with pytest.raises(ValueError, match="count from 1"):
        timecode(0, DROP)
