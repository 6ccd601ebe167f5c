"""Which containers must not take a solution, or only with care, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from chemistry.catalogue.mixtures import meet
from chemistry.forms.waste import Containers
from chemistry.meeting import Classes, classes_in
from chemistry.models import Standing
from chemistry.science.mixtures import Level, Verdict
from chemistry.views.hazards import products_of


@dataclass(frozen=True)
class Care:
    """What a container gives off with what is to be poured into it."""

    code: str
    verdicts: tuple[Verdict, ...]

    @property
    def is_blocked(self) -> bool:
        return self.verdicts[0].level == Level.BLOCK

    @property
    def products(self) -> str:
        return products_of(self.verdicts)

    @property
    def reasons(self) -> list[tuple[str, str]]:
        """Each reason with its source and standing."""
        said = ((v.why, f"{v.source}, {Standing(v.standing).label}") for v in self.verdicts)
        return list(dict.fromkeys(said))


@dataclass(frozen=True)
class Cares:
    """The containers as they are offered: the harmless first, the others with what they give."""

    containers: Containers
    found: Mapping[str, Care]

    @property
    def warned(self) -> list[str]:
        return [code for code, care in self.found.items() if not care.is_blocked]

    @property
    def blocked(self) -> list[str]:
        return [code for code, care in self.found.items() if care.is_blocked]


def cares_of(poured: Classes, containers: Containers) -> Cares:
    """What each of the containers would give off with it."""
    accounts = {code: container.account for code, (_, container) in containers.items()}
    held = classes_in(accounts.values())
    verdicts = {code: meet(poured, held[account.pk]) for code, account in accounts.items()}
    found = {code: Care(code, those) for code, those in verdicts.items() if those}
    labelled = {
        code: (_label(label, found.get(code)), container)
        for code, (label, container) in containers.items()
    }
    return Cares(dict(sorted(labelled.items(), key=lambda pair: pair[0] in found)), found)


def _label(label: str, care: Care | None) -> str:
    if care is None:
        return label
    return f"{label}; {'never' if care.is_blocked else 'gives off'}: {care.products}"
