"""What meets in a container: all that has gone into it, and what is to be poured in.

What is in it follows from the ledger alone, by the recipes of the bottles that were poured.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping

from django.db.models import Q, Sum

from chemistry.catalogue.mixtures import chemicals, meet, mixtures
from chemistry.models import Account, AccountKind, Batch, Movement, RecipeVersion
from chemistry.science.mixtures import Chemical, Level, Verdict
from darkroom.errors import DomainError

Classes = frozenset[Chemical]
NOTHING: Classes = frozenset()


class DangerousMixture(DomainError):
    """What is in the container and what is to be poured must never meet."""

    code = "dangerous_mixture"


class WarnedMixture(DomainError):
    """They should not meet, unless somebody who has read why says so."""

    code = "warned_mixture"


def classes_of(batch: Batch) -> Classes:
    return chemicals(batch.way.version.classes)


def classes_in(accounts: Iterable[Account]) -> dict[int, Classes]:
    """By account, what has gone into these containers and was not taken back."""
    ids = [account.pk for account in accounts]
    held = _poured_into(ids)
    for account_id, batches in _placed_into(ids).items():
        held[account_id] |= batches
    known = _classes_by_batch({batch for batches in held.values() for batch in batches})
    return {pk: NOTHING.union(*(known.get(batch, NOTHING) for batch in held[pk])) for pk in ids}


def classes_waiting(stream: str) -> Classes:
    """What may still stand beside the containers of this stream."""
    unplaced = Account.objects.filter(kind=AccountKind.UNPLACED, stream=stream).first()
    batches = set() if unplaced is None else _waiting(unplaced.pk, ())[1]
    return NOTHING.union(*_classes_by_batch(batches).values())


def check_meeting(poured: Classes, into: Account, *, is_accepted: bool) -> None:
    """Raises: DangerousMixture, WarnedMixture."""
    found = meet(poured, classes_in([into])[into.pk])
    blocked = [verdict for verdict in found if verdict.level == Level.BLOCK]
    if blocked:
        raise DangerousMixture(f"{_meets(into, blocked)} Never together.", field="container")
    if found and not is_accepted:
        raise WarnedMixture(
            f"{_meets(into, found)} Choose another container, or say that you know.",
            field="is_accepted",
        )


def _meets(into: Account, found: Collection[Verdict]) -> str:
    meanings = mixtures().meanings
    pairs = [f"{meanings[v.a].label} would meet {meanings[v.b].label}" for v in found]
    whys = dict.fromkeys(verdict.why for verdict in found)
    return f"In {into} {', and '.join(pairs)}. {' '.join(whys)}"


def _poured_into(ids: Collection[int]) -> defaultdict[int, set[int]]:
    flows = (
        Movement.objects.filter(Q(target__in=ids) | Q(source__in=ids))
        .values_list("source", "target", "source__batch", "target__batch")
        .annotate(total=Sum("quantity"))
        .order_by()
    )
    net: Counter[tuple[int, int]] = Counter()
    for source, target, from_batch, to_batch, total in flows:
        if from_batch is not None:
            net[target, from_batch] += total
        if to_batch is not None:
            net[source, to_batch] -= total
    held: defaultdict[int, set[int]] = defaultdict(set)
    for (account_id, batch), total in net.items():
        if total > 0:
            held[account_id].add(batch)
    return held


def _placed_into(ids: Collection[int]) -> Mapping[int, set[int]]:
    """What came by way of the heap beside the containers: all that stood there at the time."""
    placed = Movement.objects.filter(target__in=ids, source__kind=AccountKind.UNPLACED)
    held: defaultdict[int, set[int]] = defaultdict(set)
    by_heap: defaultdict[int, dict[int, int]] = defaultdict(dict)
    for seq, heap, target in placed.values_list("seq", "source", "target"):
        by_heap[heap][seq] = target
    for heap, targets in by_heap.items():
        for seq, batches in _waiting(heap, targets)[0].items():
            held[targets[seq]] |= batches
    return held


def _waiting(heap: int, seqs: Collection[int]) -> tuple[dict[int, set[int]], set[int]]:
    """The bottles whose contents might have stood there just before each entry, and do now.

    Nobody knows which of them an amount was taken from; only an empty heap holds none of them.
    """
    rows = Movement.objects.filter(Q(target=heap) | Q(source=heap)).order_by("seq")
    balance, batches = 0, set[int]()
    before: dict[int, set[int]] = {}
    for seq, target, batch, quantity in rows.values_list(
        "seq", "target", "source__batch", "quantity"
    ):
        if seq in seqs:
            before[seq] = set(batches)
        balance += quantity if target == heap else -quantity
        if target == heap and batch is not None:
            batches.add(batch)
        if balance == 0:
            batches.clear()
    return before, batches


def _classes_by_batch(batches: Collection[int]) -> dict[int, Classes]:
    rows = RecipeVersion.objects.filter(ways__batches__in=batches)
    found = rows.values_list("ways__batches", "classes")
    return {batch: chemicals(classes) for batch, classes in found if batch in batches}
