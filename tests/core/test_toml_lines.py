"""Where the keys of a TOML text stand."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from striderule.model.toml_lines import places_in

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")


LINES = '''\
a = 1
"b c".'d' . e = "x # [no] = \\" y" # comment = 1
text = """
[not.a.table]
not_a_key = 1 \\""" ""
still text"""""
raw = \'\'\'
[nor] = 'this'
\'\'\'\'
[t]
list = [ # [
  1, # one
  { p = 1, q.r = [
    2 ] }, [ "]", ']' ],

  1979-05-27 07:32:00, true
]
[t.u."v.w"]
k = +1_000.5e-3
[[n]]
x = 1
[n.m]
x = 2
[[n.deep]]
y = 1
[[n.deep]]
y = 2
[[n]]
x = 3
n.m = { "é\\u00e9" = 1 }
'''


def test_the_scanner_finds_the_line_of_every_key_that_toml_can_write() -> None:
    tomllib.loads(LINES)
    lines = places_in(LINES).lines
    expected = {
        ("a",): 1,
        ("b c",): 2,
        ("b c", "d", "e"): 2,
        ("text",): 3,
        ("raw",): 7,
        ("t",): 10,
        ("t", "list"): 11,
        ("t", "list", 0): 12,
        ("t", "list", 1): 13,
        ("t", "list", 1, "p"): 13,
        ("t", "list", 1, "q", "r"): 13,
        ("t", "list", 1, "q", "r", 0): 14,
        ("t", "list", 2): 14,
        ("t", "list", 2, 1): 14,
        ("t", "list", 3): 16,
        ("t", "list", 4): 16,
        ("t", "u", "v.w"): 18,
        ("t", "u", "v.w", "k"): 19,
        ("n",): 20,
        ("n", 0): 20,
        ("n", 0, "x"): 21,
        ("n", 0, "m"): 22,
        ("n", 0, "m", "x"): 23,
        ("n", 0, "deep", 0): 24,
        ("n", 0, "deep", 1): 26,
        ("n", 0, "deep", 1, "y"): 27,
        ("n", 1): 28,
        ("n", 1, "x"): 29,
        ("n", 1, "n", "m", "éé"): 30,
    }
    assert {place: lines.get(place) for place in expected} == expected
    assert max(lines.values()) == 30


def every_place(value: object, place: tuple = ()) -> list[tuple]:
    """Every key and list entry of a parsed document."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for key, one in pairs for found in [(*place, key), *every_place(one, (*place, key))]]


@pytest.mark.parametrize("text", [LINES, SHOT, PUPPET], ids=["everything", "shot", "puppet"])
def test_the_scanner_knows_exactly_the_places_that_the_parser_knows(text: str) -> None:
    assert set(places_in(text).lines) == set(every_place(tomllib.loads(text)))


def test_a_tables_own_header_is_its_line_even_after_its_sub_table() -> None:
    assert places_in("[a.b]\nx = 1\n[a]\ny = 2\n").lines[("a",)] == 3


def test_what_stands_above_a_break_is_still_found() -> None:
    places = places_in("a = 1\n[t]\nb = 2\n= 3\n[u]\n")
    assert places.lines == {("a",): 1, ("t",): 2, ("t", "b"): 3}
    assert (places.last, places.last_line) == (("t", "b"), 3)
