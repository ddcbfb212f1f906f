"""Where a function of one value is 0, found in few calls."""

import math

import pytest

from striderule.adjust.searching import nearest_zero


@pytest.mark.parametrize(
    ("of", "zero"),
    [
        (lambda x: x - 3.3, 3.3),
        (lambda x: 6.6 - x, 6.6),
        (lambda x: x**3 - 27.0, 3.0),
        (lambda x: max(x - 2.0, -0.5), 2.0),
        (lambda x: math.atan(40.0 * (x - 7.77)), 7.77),
    ],
)
def test_a_zero_is_found_whichever_way_the_function_runs(of, zero):
    assert nearest_zero(of, 0.0, 10.0, 5.0) == pytest.approx(zero, abs=1e-3)


def test_of_several_zeros_the_one_nearest_to_the_wish_is_taken():
    for wish, zero in ((1.0, 2.0), (4.9, 2.0), (5.1, 8.0), (9.0, 8.0)):
        assert nearest_zero(lambda x: (x - 2.0) * (x - 8.0), 0.0, 10.0, wish) == pytest.approx(zero, abs=1e-3)


def test_zeros_between_two_looks_of_the_same_sign_are_found_where_the_function_dips():
    found = nearest_zero(lambda x: abs(x - 6.1) - 0.01, 0.0, 10.0, 2.0)
    assert abs(found - 6.1) == pytest.approx(0.01, abs=1e-3)


def test_without_a_zero_the_value_that_comes_nearest_is_given():
    assert nearest_zero(lambda x: (x - 4.0) ** 2 + 1.0, 0.0, 10.0, 9.0) == pytest.approx(4.0, abs=0.01)
    assert nearest_zero(lambda x: x + 1.0, 0.0, 10.0, 9.0) == pytest.approx(0.0, abs=0.01)


def test_it_takes_a_few_dozen_calls():
    calls = []
    nearest_zero(lambda x: calls.append(x) or x - 3.3, 0.0, 10.0, 5.0)
    assert len(calls) < 30
