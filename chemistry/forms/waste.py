"""Containers: opened, filled, handed over."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from django import forms

from chemistry.forms.fields import HappenedForm, PickField, VolumeField, words_field
from chemistry.models import Stream, WasteContainer

Containers = Mapping[str, tuple[str, WasteContainer]]
"""What is offered: each container by its code, with how it is called in a choice."""

CODE = r"^[A-Za-z0-9][A-Za-z0-9-]*$"
TAKEN_BY_PAGES = {"open", "place", "gone"}


class OpenContainerForm(HappenedForm):
    code = forms.RegexField(
        CODE,
        label="Code on the container",
        max_length=12,
        help_text="As written on it, for example W-4.",
        error_messages={"invalid": "Use letters, digits and dashes only, for example W-4."},
    )
    stream = forms.ChoiceField(label="For", choices=Stream.choices, widget=forms.RadioSelect)
    capacity_ml = VolumeField(label="Holds, up to the brim")
    fill_limit_pct = forms.IntegerField(label="Fill up to", min_value=1, max_value=100)

    def __init__(self, *args: Any, fill_limit_pct: int, stream: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stream"].initial = stream
        self.fields["fill_limit_pct"].initial = fill_limit_pct
        self.fields["happened_at"].label = "Opened"

    def clean_code(self) -> str:
        code: str = self.cleaned_data["code"].upper()
        if code.lower() in TAKEN_BY_PAGES:
            raise forms.ValidationError("This word is taken by a page; write it otherwise.")
        return code


def accept_field() -> forms.BooleanField:
    """The explicit yes to a mixture that is warned of."""
    return forms.BooleanField(
        label="I know what they give off together and pour them into one container all the same",
        required=False,
    )


class PlaceForm(HappenedForm):
    """Put into a container what was poured while none had room."""

    is_accepted = accept_field()
    stream = forms.CharField(widget=forms.HiddenInput, max_length=12)
    container = PickField(label="Into")
    volume_ml = VolumeField(label="How much")

    def __init__(
        self,
        *args: Any,
        containers: Containers,
        warned: Collection[str] = (),
        blocked: Collection[str] = (),
        waiting_ul: int,
        stream: str,
        **kwargs: Any,
    ) -> None:
        # Several of these forms stand on one page.
        super().__init__(*args, auto_id=f"id_{stream}_%s", **kwargs)
        self.fields["stream"].initial = stream
        into: Any = self.fields["container"]
        into.offer(containers)
        if not warned:
            del self.fields["is_accepted"]
        harmless = {c: one for c, one in containers.items() if c not in {*warned, *blocked}}
        chosen = first_with_room(harmless, waiting_ul) or next(iter(harmless), "")
        into.initial = chosen
        room_ul = room_of(containers[chosen][1]) if chosen else 0
        self.fields["volume_ml"].initial = min(waiting_ul, room_ul)


def room_of(container: WasteContainer) -> int:
    return container.limit_ul - container.account.balance


def first_with_room(containers: Containers, volume_ul: int) -> str:
    """The code of the first that takes it all; they come the fullest first."""
    fits = (code for code, (_, one) in containers.items() if room_of(one) >= volume_ul)
    return next(fits, "")


class HandOverForm(HappenedForm):
    """One container or several to one carrier on one document, each measured if it was."""

    carrier = words_field("Carrier", 120)
    document = words_field(
        "Number of the official document", 60, help_text="As printed on the carrier's own paper."
    )
    containers = forms.TypedMultipleChoiceField(
        label="What goes", widget=forms.CheckboxSelectMultiple
    )

    def __init__(
        self, *args: Any, containers: Sequence[WasteContainer], chosen: str, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.at_hand = {container.code: container for container in containers}
        field: Any = self.fields["containers"]
        field.choices = [(code, code) for code in self.at_hand]
        field.coerce = self.at_hand.__getitem__
        field.initial = [chosen]
        for container in containers:
            self.fields[measured(container.code)] = VolumeField(
                label=f"Measured in {container.code}", required=False
            )

    def quantities_ul(self) -> dict[int, int]:
        """What was measured, by container; nothing stands for those that were not."""
        found = {
            container.pk: self.cleaned_data[measured(container.code)]
            for container in self.cleaned_data["containers"]
        }
        return {pk: ul for pk, ul in found.items() if ul is not None}


def measured(code: str) -> str:
    return f"measured-{code}"
