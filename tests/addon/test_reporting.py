"""Every refusal of the core reaches a user of Blender as a report."""

from __future__ import annotations

import pytest

from striderule import errors
from striderule_blender import reporting


def tree(cls: type) -> set[type]:
    return {cls}.union(*(tree(one) for one in cls.__subclasses__()))


def made(cls: type) -> errors.StrideruleError:
    arguments = {
        errors.ModelError: ("key", "this", "that"),
        errors.FileError: ("file.toml", 3, "key", "this", "that"),
        errors.MissingExtraError: ("board", "Finding a board"),
    }
    return cls(*arguments.get(cls, ("words",)))


class Operator:
    def __init__(self) -> None:
        self.reports: list[tuple[set[str], str]] = []

    def report(self, kind: set[str], words: str) -> None:
        self.reports.append((kind, words))


def test_every_error_class_of_the_core_is_mapped():
    assert set(reporting.TITLES) == tree(errors.StrideruleError)


@pytest.mark.parametrize("cls", sorted(tree(errors.StrideruleError), key=lambda one: one.__name__))
def test_a_refusal_becomes_an_error_report_that_holds_its_message(cls):
    operator, error = Operator(), made(cls)
    with reporting.reported(operator):
        raise error
    assert operator.reports == [({"ERROR"}, f"{reporting.TITLES[cls]}: {error}")]


def test_what_is_no_refusal_goes_on_as_it_is():
    operator = Operator()
    with pytest.raises(ZeroDivisionError), reporting.reported(operator):
        1 / 0  # noqa: B018
    assert operator.reports == []
