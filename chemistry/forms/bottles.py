"""What is done to one bottle: topped up, poured out, stopped, released."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from django import forms

from chemistry.forms.fields import HappenedForm, KeyedForm, PickField, VolumeField, words_field
from chemistry.forms.waste import Containers, accept_field, first_with_room
from chemistry.models import Batch
from chemistry.stopping import MOST_WORDS

SIGNS = (
    "Darker than it should be",
    "Cloudy, with flakes or a skin",
    "Smells wrong",
    "Negatives came out thin",
    "Film did not clear in time",
    "Something else got into it",
    "The label does not fit what is in it",
)


class AddedForm(forms.Form):
    """What the bleed needs to be worked out while the rest is still being typed."""

    added_ml = VolumeField()


class ReplenishForm(HappenedForm):
    added_ml = VolumeField(label="Replenisher added")
    source = PickField(label="Taken from")

    def __init__(self, *args: Any, sources: Mapping[str, tuple[str, Batch]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        taken_from: Any = self.fields["source"]
        taken_from.offer(sources, nothing="Fresh from the supply")
        taken_from.initial = next(iter(sources), "")


class PourForm(HappenedForm):
    """Pour out all or a part, into a container or, if none has room, beside them."""

    container = PickField(label="Into")
    how_much = forms.ChoiceField(
        label="How much",
        choices=(("all", "All of it"), ("part", "A part")),
        initial="all",
        widget=forms.RadioSelect,
    )
    volume_ml = VolumeField(label="The part, if not all", required=False)
    is_accepted = accept_field()

    def __init__(
        self,
        *args: Any,
        containers: Containers,
        warned: Collection[str] = (),
        blocked: Collection[str] = (),
        volume_ul: int,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.has_containers = bool(containers)
        into: Any = self.fields["container"]
        into.offer(containers, nothing="No container: it stands beside them until it is placed")
        if not warned:
            del self.fields["is_accepted"]
        harmless = {c: one for c, one in containers.items() if c not in {*warned, *blocked}}
        into.initial = first_with_room(harmless, volume_ul)

    def clean(self) -> dict[str, Any]:
        super().clean()
        if self.cleaned_data.get("how_much") == "all":
            self.cleaned_data["volume_ml"] = None
            self.errors.pop("volume_ml", None)
        elif self.cleaned_data.get("volume_ml") is None and "volume_ml" not in self.errors:
            self.add_error("volume_ml", "Say how much was poured.")
        return self.cleaned_data


class StopForm(KeyedForm):
    """One press on a sign stops the bottle; own words do as well, alone or with it."""

    sign = forms.ChoiceField(required=False, choices=[(sign, sign) for sign in SIGNS])
    words = words_field(
        "In your own words",
        MOST_WORDS - 60,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def clean(self) -> dict[str, Any]:
        super().clean()
        said = [self.cleaned_data.get(name, "") for name in ("sign", "words")]
        self.cleaned_data["seen"] = ": ".join(filter(None, said))
        if not any(said) and not self.errors:
            self.add_error("words", "Say what was seen, or press one of the signs.")
        return self.cleaned_data


class ReleaseForm(KeyedForm):
    reason = words_field(
        "Why it may be used again",
        MOST_WORDS,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What was tested, and how it came out.",
    )
