"""Waste containers and what waits for one, as the pages show them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from chemistry.models import Account, AccountKind, Stream, WasteContainer
from chemistry.templatetags.amounts import ml
from chemistry.units import ml_from_ul

NEARLY_FULL_PCT = 85
"""Of the fill limit. A collection takes days to come, so it is booked before the limit."""


@dataclass(frozen=True)
class Drum:
    """One container with its contents."""

    container: WasteContainer
    balance_ul: int

    @property
    def code(self) -> str:
        return self.container.code

    @property
    def label(self) -> str:
        return self.container.get_stream_display()

    @property
    def waste_code(self) -> str:
        return Stream(self.container.stream).waste_code

    @property
    def volume_ml(self) -> int:
        return round(ml_from_ul(self.balance_ul))

    @property
    def capacity_ml(self) -> int:
        return round(ml_from_ul(self.container.capacity_ul))

    @property
    def limit_ml(self) -> int:
        return round(ml_from_ul(self.container.limit_ul))

    @property
    def room_ul(self) -> int:
        return max(0, self.container.limit_ul - self.balance_ul)

    @property
    def filled_pct(self) -> int:
        return 100 * self.balance_ul // self.container.capacity_ul

    @property
    def key(self) -> str:
        """Its state, as the drawings call it."""
        if self.balance_ul >= self.container.limit_ul:
            return "full"
        nearly = 100 * self.balance_ul >= NEARLY_FULL_PCT * self.container.limit_ul
        return "nearly_full" if nearly else "fresh"

    @property
    def word(self) -> str:
        words = {"full": "Full: book a collection", "nearly_full": "Nearly full"}
        return words.get(self.key, "Has room")

    @property
    def choice(self) -> str:
        """How it is offered to whoever has something to pour."""
        return f"{self.code}, room for {ml(self.room_ul)}"


def drum_of(container: WasteContainer) -> Drum:
    return Drum(container, container.account.balance)


def open_containers(*, also: Collection[str] = ()) -> QuerySet[WasteContainer]:
    """Those in the house, and those a form has named: sent again, it must still be understood."""
    wanted = Q(consignment=None) | Q(code__in=also)
    return WasteContainer.objects.filter(wanted).select_related("account")


def offered(
    containers: Iterable[WasteContainer], stream: str, *, also: Collection[str] = ()
) -> dict[str, tuple[str, WasteContainer]]:
    """Containers of the stream that have room, by code, the fullest first: it leaves first.

    ``also`` is what a form has named; whether it will do is the operation's to say.
    """
    drums = sorted(map(drum_of, containers), key=lambda drum: (drum.room_ul, drum.code))
    return {
        drum.code: (drum.choice, drum.container)
        for drum in drums
        if drum.code in also or (drum.container.stream == stream and drum.room_ul)
    }


def unplaced_ul() -> Mapping[str, int]:
    """What was poured while no container had room, by stream."""
    accounts = Account.objects.filter(kind=AccountKind.UNPLACED, unit="ul")
    return dict(accounts.values_list("stream", "balance"))


@dataclass(frozen=True)
class StreamLine:
    stream: Stream
    contained_ul: int
    unplaced_ul: int

    @property
    def label(self) -> str:
        return self.stream.label

    @property
    def code(self) -> str:
        return self.stream.waste_code


def stream_lines(drums: Iterable[Drum], unplaced: Mapping[str, int]) -> list[StreamLine]:
    held = dict.fromkeys(Stream, 0)
    for drum in drums:
        held[Stream(drum.container.stream)] += drum.balance_ul
    return [StreamLine(stream, held[stream], unplaced.get(stream, 0)) for stream in Stream]
