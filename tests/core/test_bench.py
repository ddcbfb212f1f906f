"""What a range test measured, in the puppet's file."""

from __future__ import annotations

from pathlib import Path

import pytest

from striderule.errors import FileError, ModelError
from striderule.model.bench import Measured
from striderule.model.puppet import Puppet
from striderule.model.shotfile import dump_puppet, parse_puppet, puppet_identity

PUPPET = (Path(__file__).with_name("data") / "puppet.toml").read_text(encoding="utf-8")
AT = "[[leg.left.measured]]\n"
LINES = """
[[leg.left.measured]]
foot_mm = 0
lowest_mm = 168.5
highest_mm = 216.5

[[leg.left.measured]]
foot_mm = -30
highest_mm = 212

[[leg.left.measured]]
straight_mm = 199.5
"""


def with_lines(lines: str) -> Puppet:
    return parse_puppet(PUPPET + lines, "p.toml")


def test_lines_of_a_range_test_are_read_in_the_order_they_stand_in_and_written_back() -> None:
    puppet = with_lines(LINES)
    assert puppet.legs[0].measured == (
        Measured(foot_mm=0.0, lowest_mm=168.5, highest_mm=216.5),
        Measured(foot_mm=-30.0, highest_mm=212.0),
        Measured(straight_mm=199.5),
    )
    assert puppet.legs[1].measured == ()
    text = dump_puppet(puppet)
    assert '[leg.right]\nmirror_of = "left"\n' in text
    assert parse_puppet(text, "q") == puppet
    assert dump_puppet(parse_puppet(text, "q")) == text


def test_a_mirrored_leg_has_measured_lines_of_its_own() -> None:
    puppet = with_lines(LINES + LINES.replace("left", "right").replace("216.5", "215"))
    assert puppet.legs[0].measured[0].highest_mm == 216.5
    assert puppet.legs[1].measured[0].highest_mm == 215.0
    text = dump_puppet(puppet)
    assert text.count("thigh_mm") == 1
    assert parse_puppet(text, "q") == puppet
    assert puppet.legs[0].mirrored("other").measured == ()


def test_what_was_measured_is_no_part_of_what_a_shot_means() -> None:
    assert puppet_identity(with_lines(LINES)) == puppet_identity(with_lines(""))


@pytest.mark.parametrize(
    ("lines", "line", "words"),
    [
        (AT + "foot_mm = 0\nlowest = 168\n", 2, ("leg.left.measured.1.lowest", "known key", '"lowest_mm"')),
        (AT + "foot_mm = 0\n", 0, ("leg.left.measured.1", "something measured")),
        (AT + "lowest_mm = 168\n", 1, ("leg.left.measured.1.lowest_mm", "foot_mm beside it")),
        (AT + "foot_mm = 0\nlowest_mm = 168\nhighest_mm = 160\n", 3, ("highest_mm", "at least 168", "160")),
        (AT + "foot_mm = 0\nlowest_mm = -1\n", 2, ("lowest_mm", "from 0 to 5000", "-1")),
        (AT + "foot_mm = 0\nlowest_mm = \"168\"\n", 2, ("lowest_mm", "without quotes")),
        ("[leg.left.measured]\nfoot_mm = 0\n", 0, ("leg.left.measured", "[[leg.left.measured]]")),
        (AT + "folded_mm = 90\nstraight_mm = 80\n", 2, ("leg.left.measured.1.straight_mm", "at least 90")),
    ],
)  # fmt: skip
def test_a_line_that_cannot_be_is_refused_where_it_stands(lines: str, line: int, words: tuple[str, ...]) -> None:
    with pytest.raises(FileError) as refused:
        with_lines("\n" + lines)
    for word in words:
        assert word in str(refused.value)
    assert refused.value.line == (PUPPET + "\n").count("\n") + 1 + line


def test_a_measured_line_made_in_code_is_checked_alike() -> None:
    with pytest.raises(ModelError, match=r"measured\.foot_mm"):
        Measured(foot_mm=float("nan"), lowest_mm=3.0)
    with pytest.raises(ModelError, match="something measured"):
        Measured()
