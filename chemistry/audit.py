"""Where every microlitre of a stream came from and went, for any period.

opening + in + unexplained = out + loss + closing.

1. A stream's accounts are its bottles, its containers and what is unplaced. What moves between
   them does not count.
2. *In* comes from the supply or from another stream, *out* goes to a carrier, the sewer, recovery
   or another stream, *loss* to the account of losses, *unexplained* from the account of that name.
3. A reversal takes back what its original counted for.
4. A report selects by when things happened, up to one entry of the ledger. With that entry's
   number and hash it can be had again for ever; what was entered later is listed apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import BooleanField, ExpressionWrapper, F, Q, QuerySet, Sum

from chemistry.canon import GENESIS
from chemistry.models import AccountKind, LedgerHead, Movement, Stream
from chemistry.units import ml_from_ul
from darkroom.errors import DomainError

PARTS = ("opening", "in", "unexplained", "out", "loss", "closing")
COLUMNS = ("stream", "waste_code", *(f"{part}_ml" for part in PARTS), "balanced")
UL = Q(source__unit="ul")
APART = {AccountKind.UNEXPLAINED: "unexplained", AccountKind.LOSS: "loss"}


class NoSuchEntry(DomainError):
    """The ledger does not reach that far."""

    code = "no_such_entry"


@dataclass(frozen=True, slots=True)
class StreamLine:
    """One stream over the period, in µL. ``closing_ul`` is counted by itself, not from the rest."""

    stream: Stream
    opening_ul: int
    in_ul: int
    unexplained_ul: int
    out_ul: int
    loss_ul: int
    closing_ul: int

    @property
    def is_balanced(self) -> bool:
        gained = self.opening_ul + self.in_ul + self.unexplained_ul
        return gained == self.out_ul + self.loss_ul + self.closing_ul

    def part_ul(self, part: str) -> int:
        return int(getattr(self, f"{part}_ul"))


@dataclass(frozen=True, slots=True)
class Report:
    """``seq`` and ``hash`` are of the last entry it rests on; ``later`` were entered after it."""

    since: datetime
    until: datetime
    lines: tuple[StreamLine, ...]
    seq: int
    hash: str
    later: int

    @property
    def is_balanced(self) -> bool:
        return all(line.is_balanced for line in self.lines)


def report(*, since: datetime, until: datetime, up_to_seq: int | None = None) -> Report:
    """The period from ``since`` until just before ``until``.

    Raises: NoSuchEntry.
    """
    seq, entry_hash, head = _rests_on(up_to_seq)
    parts = _parts(since, until, seq)
    closing = _closing(until, seq)
    lines = tuple(_line(stream, parts, closing) for stream in Stream)
    later = later_entries(since=since, until=until, up_to_seq=seq).count() if seq < head else 0
    return Report(since, until, lines, seq, entry_hash, later)


def entries(
    *, since: datetime, until: datetime, stream: str, part: str, up_to_seq: int | None = None
) -> QuerySet[Movement]:
    """The entries behind one figure, in the order of the ledger."""
    if part not in PARTS:
        raise LookupError(part)
    seq, _, _ = _rests_on(up_to_seq)
    moves = _movements(seq).filter(_comes_in(stream) | _goes_out(stream))
    if part == "opening":
        return moves.filter(happened_at__lt=since)
    if part == "closing":
        return moves.filter(happened_at__lt=until)
    within = moves.filter(happened_at__gte=since, happened_at__lt=until)
    return within.filter(_counts_for(stream, part))


def change_ul(entry: Movement, stream: str, part: str) -> int:
    """What an entry adds to a figure of the report; the figure is the sum of its entries'."""
    gains = (entry.target.stream == stream) - (entry.source.stream == stream)
    return gains * entry.quantity * (-1 if part in {"out", "loss"} else 1)


def later_entries(*, since: datetime, until: datetime, up_to_seq: int) -> QuerySet[Movement]:
    """What was entered into the period after the entry that a report rests on."""
    later = Movement.objects.filter(UL, seq__gt=up_to_seq)
    return _in_full(later.filter(happened_at__gte=since, happened_at__lt=until))


def csv_rows(found: Report, *, zone: ZoneInfo) -> Iterator[list[str]]:
    """The report as a table, a stream a row, with what it rests on below it in ``zone``'s time."""
    yield list(COLUMNS)
    for line in found.lines:
        volumes = (f"{ml_from_ul(line.part_ul(part)):f}" for part in PARTS)
        names = plain_cells((line.stream.label, line.stream.waste_code))
        yield [*names, *volumes, "yes" if line.is_balanced else "no"]
    yield []
    for name, value in _footing(found, zone):
        yield list(plain_cells((name, value)))


def plain_cells(texts: Iterable[str]) -> Iterator[str]:
    """Texts that no spreadsheet takes for a formula."""
    for text in texts:
        is_formula = text.lstrip().startswith(("=", "+", "-", "@")) or text[:1] in "\t\r\n"
        yield f"'{text}" if text and is_formula else text


def _footing(found: Report, zone: ZoneInfo) -> Iterator[tuple[str, str]]:
    yield "from", found.since.astimezone(zone).isoformat()
    yield "until", found.until.astimezone(zone).isoformat()
    yield "last entry", str(found.seq)
    yield "hash", found.hash
    yield "entered later", str(found.later)


def _line(
    stream: Stream, parts: Mapping[tuple[str, str], int], closing: Mapping[str, int]
) -> StreamLine:
    return StreamLine(
        stream=stream,
        opening_ul=parts[stream, "opening"],
        in_ul=parts[stream, "in"],
        unexplained_ul=parts[stream, "unexplained"],
        out_ul=parts[stream, "out"],
        loss_ul=parts[stream, "loss"],
        closing_ul=closing[stream],
    )


def _rests_on(up_to_seq: int | None) -> tuple[int, str, int]:
    """Number and hash of the entry, and the number of the last there is."""
    head = LedgerHead.objects.first() or LedgerHead(seq=0, hash=GENESIS)
    if up_to_seq is None or up_to_seq == head.seq:
        return head.seq, head.hash, head.seq
    if up_to_seq == 0:
        return 0, GENESIS, head.seq
    found = Movement.objects.filter(seq=up_to_seq).values_list("hash", flat=True).first()
    if found is None:
        raise NoSuchEntry(f"There is no entry {up_to_seq}; the last is {head.seq}.", field="up_to")
    return up_to_seq, found, head.seq


def _movements(seq: int) -> QuerySet[Movement]:
    return _in_full(Movement.objects.filter(UL, seq__lte=seq))


def _in_full(moves: QuerySet[Movement]) -> QuerySet[Movement]:
    return moves.select_related(
        "source__batch", "source__container", "target__batch", "target__container", "by", "reverses"
    )


def _parts(since: datetime, until: datetime, seq: int) -> defaultdict[tuple[str, str], int]:
    """What every stream's figures come to, but the closing."""
    sums = (
        Movement.objects.filter(UL, seq__lte=seq, happened_at__lt=until)
        .exclude(source__stream=F("target__stream"))
        .order_by()
        .values_list(
            ExpressionWrapper(Q(happened_at__gte=since), BooleanField()),
            ExpressionWrapper(Q(reverses__isnull=False), BooleanField()),
            "source__kind",
            "source__stream",
            "target__kind",
            "target__stream",
        )
        .annotate(total=Sum("quantity"))
    )
    found: defaultdict[tuple[str, str], int] = defaultdict(int)
    for is_within, is_reversal, from_kind, from_stream, to_kind, to_stream, total in sums:
        sides = ((to_stream, from_kind, total), (from_stream, to_kind, -total))
        for stream, other, gained in sides:
            came_in = (gained > 0) != is_reversal
            part = _part(other, came_in=came_in) if is_within else "opening"
            found[stream, part] += -gained if part in {"out", "loss"} else gained
    return found


def _part(other_kind: str, *, came_in: bool) -> str:
    """Which figure a movement from or to an account of this kind counts for."""
    if other_kind in APART:
        return APART[AccountKind(other_kind)]
    return "in" if came_in else "out"


def _counts_for(stream: str, part: str) -> Q:
    """The same for a query."""
    comes, goes = _comes_in(stream), _goes_out(stream)
    for kind, name in APART.items():
        if part == name:
            return (comes & Q(source__kind=kind)) | (goes & Q(target__kind=kind))
    comes &= ~Q(source__kind__in=list(APART))
    goes &= ~Q(target__kind__in=list(APART))
    first, undone = (comes, goes) if part == "in" else (goes, comes)
    return (first & Q(reverses__isnull=True)) | (undone & Q(reverses__isnull=False))


def _comes_in(stream: str) -> Q:
    return Q(target__stream=stream) & ~Q(source__stream=stream)


def _goes_out(stream: str) -> Q:
    return Q(source__stream=stream) & ~Q(target__stream=stream)


def _closing(until: datetime, seq: int) -> dict[str, int]:
    """What every stream's accounts hold at the end, from all they ever gained and gave."""
    moves = Movement.objects.filter(UL, seq__lte=seq, happened_at__lt=until).order_by()
    held = dict.fromkeys(Stream.values, 0)
    for side, sign in (("target__stream", 1), ("source__stream", -1)):
        for stream, total in moves.values_list(side).annotate(total=Sum("quantity")):
            if stream:
                held[stream] += sign * total
    return held
