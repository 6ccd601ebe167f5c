"""Every published figure is a row of data, and this is the one test that reads them.

A row is a ``[[case]]`` table: ``function`` (dotted path), ``inputs``, ``expected``, and where
needed ``tolerance`` (absolute, or ``"1%"``), ``source``, ``standing``, ``note``.
``expected`` is a number, text, date, array, table, ``{raises = "OutOfRange"}``, or
``{nothing = true}``. Nested tables build dataclasses by their annotations.
"""

import dataclasses
import importlib
import inspect
import tomllib
import types
import typing
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import Enum
from pathlib import Path

import pytest

HERE = Path(__file__).parent
STANDINGS = {
    "read",
    "restated",
    "computed",
    "common practice",
    "remembered",
    "remembered-low",
    "house's own",
}
REQUIRED = {"function", "inputs", "expected", "source", "standing"}
OPTIONAL = {"tolerance", "note"}
FAULTS = (AssertionError, pytest.fail.Exception, KeyError, TypeError, AttributeError)


def pytest_generate_tests(metafunc):
    if "case" not in metafunc.fixturenames:
        return
    extra = [Path(name) for name in metafunc.config.getoption("oracles")]
    rows = [(path, case) for path in sorted(HERE.glob("*.toml")) + extra for case in cases(path)]
    names = [f"{path.stem}-{case.get('function', '?').split('.')[-1]}" for path, case in rows]
    metafunc.parametrize("case", [case for _, case in rows], ids=names)


def cases(path):
    with path.open("rb") as file:
        return tomllib.load(file, parse_float=Decimal)["case"]


def test_figure(case, record_property):
    record_property("standing", case.get("standing", "none"))

    check_whole(case)


def check_whole(case):
    check_form(case)
    check(case)


def check_form(case):
    missing, unknown = REQUIRED - case.keys(), case.keys() - REQUIRED - OPTIONAL
    assert (missing, unknown) == (set(), set())
    assert case["standing"] in STANDINGS
    assert case["source"].strip()


def check(case):
    function, owner = find(case["function"])
    arguments = build_arguments(function, owner, case["inputs"])
    expected = case["expected"]
    if isinstance(expected, dict) and set(expected) == {"raises"}:
        with pytest.raises(Exception) as caught:  # noqa: PT011  the row names the class
            function(**arguments)
        assert type(caught.value).__name__ == expected["raises"]
        return
    compare(function(**arguments), expected, case.get("tolerance"))


def find(path: str) -> tuple[Callable[..., object], type | None]:
    """The function that a dotted path names; with its class if it is a plain method."""
    parts = path.split(".")
    for length in range(len(parts) - 1, 0, -1):
        try:
            found = importlib.import_module(".".join(parts[:length]))
        except ModuleNotFoundError:
            continue
        owner = None
        for name in parts[length:]:
            owner, found = found, getattr(found, name)
        plain = inspect.isclass(owner) and inspect.isfunction(found)
        return found, owner if plain else None
    raise LookupError(path)


def build_arguments(function, owner, inputs):
    hints = typing.get_type_hints(function.__init__ if inspect.isclass(function) else function)
    if owner is not None:
        hints = {name: owner if hint is typing.Self else hint for name, hint in hints.items()}
        hints["self"] = owner
    arguments = {name: build(value, hints[name]) for name, value in inputs.items()}
    for name, parameter in inspect.signature(function).parameters.items():
        required = parameter.default is inspect.Parameter.empty
        if required and name not in arguments and allows_none(hints.get(name)):
            arguments[name] = None
    return arguments


def allows_none(hint) -> bool:
    return types.NoneType in typing.get_args(hint)


def build(value, hint):
    """A TOML value as the annotation wants it."""
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        return build(value, member_for(value, inner))
    if origin is tuple:
        wanted = [inner[0]] * len(value) if inner[-1] is Ellipsis else inner
        assert len(wanted) == len(value)
        return tuple(build(one, of) for one, of in zip(value, wanted, strict=True))
    if inspect.isclass(origin) and issubclass(origin, Mapping):
        return {build(key, inner[0]): build(one, inner[1]) for key, one in value.items()}
    if origin in (set, frozenset):
        return origin(build(one, inner[0]) for one in value)
    if origin is not None:
        return [build(one, inner[0]) for one in value]
    if dataclasses.is_dataclass(hint):
        hints = typing.get_type_hints(hint)
        return hint(**{name: build(one, hints[name]) for name, one in value.items()})
    return plain(value, hint)


def plain(value, hint):
    if hint in (float, Decimal):
        assert isinstance(value, int | Decimal)
        return hint(value)
    if hint is timedelta:
        return timedelta(**{unit: float(amount) for unit, amount in value.items()})
    if inspect.isclass(hint) and issubclass(hint, Enum):
        return hint(value)
    assert isinstance(value, hint)
    return value


def member_for(value, members):
    """Of a union, the member that this value is meant for."""
    if isinstance(value, dict):
        classes = [one for one in members if dataclasses.is_dataclass(one)]
        for one in classes:
            if value.keys() <= {field.name for field in dataclasses.fields(one)}:
                return one
    for kind in members:
        if kind is type(value):
            return kind
    return next(one for one in members if one is not types.NoneType)


def compare(actual, expected, tolerance):
    if isinstance(expected, dict):
        compare_table(actual, expected, tolerance)
    elif isinstance(expected, list):
        assert len(actual) == len(expected)
        for one, wanted in zip(actual, expected, strict=True):
            compare(one, wanted, tolerance)
    elif isinstance(expected, bool):
        assert actual is expected
    elif isinstance(expected, str):
        assert str(actual) == expected
    elif isinstance(expected, date | datetime):
        assert actual == expected
    else:
        assert abs(Decimal(actual) - Decimal(expected)) <= allowed(expected, tolerance)


def compare_table(actual, expected, tolerance):
    if expected == {"nothing": True}:
        assert actual is None
    elif isinstance(actual, Mapping):
        assert actual.keys() == expected.keys()
        for name, wanted in expected.items():
            compare(actual[name], wanted, tolerance)
    else:
        for name, wanted in expected.items():
            compare(getattr(actual, name), wanted, tolerance)


def allowed(expected, tolerance) -> Decimal:
    if tolerance is None:
        return Decimal(0)
    if isinstance(tolerance, str):
        return abs(Decimal(expected)) * Decimal(tolerance.removesuffix("%")) / 100
    return Decimal(tolerance)


def row(**changes):
    good = {
        "function": "chemistry.science.area.area_units",
        "inputs": {"area_mm2": Decimal("99354.64")},
        "expected": Decimal("1.925"),
        "source": "geometry",
        "standing": "computed",
    }
    return good | changes


def test_a_good_row_passes():
    check_whole(row())


@pytest.mark.parametrize(
    "fault",
    [
        {"expected": Decimal("1.926")},
        {"expected": Decimal(2), "tolerance": "1%"},
        {"expected": Decimal(2), "tolerance": Decimal("0.07")},
        {"expected": "1.9250"},
        {"expected": [Decimal("1.925")]},
        {"expected": {"nothing": True}},
        {"expected": {"raises": "OutOfRange"}},
        {"standing": "certain"},
        {"source": " "},
        {"tolerence": 1},
        {"inputs": {"area": 1}},
        {"function": "chemistry.science.area.no_such"},
    ],
)
def test_a_faulty_row_does_not_pass(fault):
    case = row(**fault)

    with pytest.raises(FAULTS):
        check_whole(case)


def test_a_wrong_exception_is_not_the_one_expected():
    case = row(inputs={"area_mm2": Decimal("NaN")}, expected={"raises": "OutOfRange"})

    with pytest.raises(pytest.fail.Exception):
        check(case)
