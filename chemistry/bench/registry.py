"""All bench sums: a new one is a module in ``chemistry/bench/sums/`` that names it in ``SUMS``."""

from __future__ import annotations

import pkgutil
from itertools import groupby
from types import ModuleType

from chemistry.bench import sums
from chemistry.bench.sum import Group, Sum


def found_in(package: ModuleType) -> tuple[Sum, ...]:
    """What the modules of a package hold, group by group."""
    names = sorted(info.name for info in pkgutil.iter_modules(package.__path__))
    modules = [pkgutil.resolve_name(f"{package.__name__}.{name}") for name in names]
    order = list(Group)
    found = [one for module in modules for one in module.SUMS]
    return tuple(sorted(found, key=lambda one: (order.index(one.group), one.place)))


SUMS = found_in(sums)
BY_SLUG = {one.slug: one for one in SUMS}


def by_group() -> list[tuple[Group, list[Sum]]]:
    return [(group, list(members)) for group, members in groupby(SUMS, lambda one: one.group)]
