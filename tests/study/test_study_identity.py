"""Two studies that differ in one thing are never taken for each other; one study is the same when it is made again."""

import functools
import itertools

import numpy as np
import pytest
from drydown import InputError
from drydown.study import Axis, FunctionModel, Study
from drydown.study.identity import of_object
from scipy.interpolate import PchipInterpolator


class Slotted:
    __slots__ = ("value",)

    def __init__(self, value):
        self.value = value


class Plain:
    def __init__(self, value):
        self.value = value

    def __call__(self, a):
        return a + self.value


def around(value):
    def inner(a):
        return a + value

    return inner


def default(value):
    def inner(a, more=value):
        return a + more

    return inner


def named(value):
    space = {"VALUE": value}
    exec("def inner(a):\n    return a + VALUE", space)
    return space["inner"]


def calling(value):
    space = {"helper": around(value)}
    exec("def inner(a):\n    return helper(a)", space)
    return space["inner"]


def three(a, offset):
    return a + offset


#: Ways to make a function that hangs on a value.
WAYS = {
    "closure": around,
    "default": default,
    "global": named,
    "helper": calling,
    "partial": lambda value: functools.partial(three, offset=value),
    "object": Plain,
    "method": lambda value: Plain(value).__call__,
    "slots": lambda value: around(Slotted(value)),
    "array": lambda value: around(np.array([0.0, value])),
    "mapping": lambda value: around({"a": [value]}),
    "set": lambda value: around({1.0, value}),
    "interpolator": lambda value: around(PchipInterpolator([0.0, 0.5, 1.0], [value, 2.0, 9.0])),
    "code": lambda value: eval(f"lambda a: a + {value!r}"),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_value_that_a_function_hangs_on_enters_its_identity(way):
    rng = np.random.default_rng(3)
    values = [1.0, 2.0, 1.0000000001, *rng.random(5).tolist()]
    found = [of_object(WAYS[way](value)) for value in values]
    assert len(set(found)) == len(values)
    assert found == [of_object(WAYS[way](value)) for value in values]


def test_the_ways_are_told_apart():
    assert len({of_object(make(1.0)) for make in WAYS.values()}) == len(WAYS)


def test_what_is_computed_on_demand_does_not_change_an_identity():
    class Lazy:
        def __init__(self):
            self.a = 1.0

        @functools.cached_property
        def b(self):
            return self.a

    thing = Lazy()
    before = of_object(thing)
    assert thing.b == 1.0 and of_object(thing) == before


def test_what_cannot_be_told_apart_is_refused_by_name():
    with pytest.raises(InputError, match="a generator cannot be told from another one"):
        Study((Axis("a", (1.0,)),), FunctionModel(around(x for x in [1]))).inputs()


def test_a_function_that_names_itself_ends():
    def again(a):
        return again(a - 1) if a > 0 else 0

    assert of_object(again) == of_object(again)


def test_cases_are_told_apart_and_found_again(folder):
    from dataclasses import replace

    from drydown.casefile import read_case

    case = read_case("wall.toml")
    other = replace(case, initial=replace(case.initial, temperature=case.initial.temperature + 1e-9))
    assert of_object(case) == of_object(read_case("wall.toml")) != of_object(other)


def test_pairs_of_plain_inputs():
    things = [
        0,
        0.0,
        False,
        "",
        None,
        (),
        [],
        {},
        b"",
        1,
        "1",
        [1],
        (1,),
        {"a": 1},
        {"a": "1"},
        {1: "a"},
        [[1], 2],
        [1, [2]],
    ]
    for a, b in itertools.combinations(things, 2):
        assert of_object(a) != of_object(b), (a, b)
