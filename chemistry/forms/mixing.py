from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from chemistry.forms.fields import HappenedForm, VolumeField
from chemistry.models import WayOfUse
from chemistry.models.batches import Storage
from darkroom.models import Member


class AmountForm(forms.Form):
    """What the dilution needs to be worked out while the rest is still being typed."""

    way = forms.CharField(max_length=12)
    volume_ml = VolumeField(label="Volume to make up")


class MixForm(HappenedForm):
    way = forms.ChoiceField(label="Way of use", widget=forms.RadioSelect)
    volume_ml = VolumeField(label="Volume to make up")
    storage = forms.ChoiceField(
        label="Kept in", choices=Storage.choices, initial=Storage.FULL, widget=forms.RadioSelect
    )
    owner = forms.ModelChoiceField(
        label="Private to",
        queryset=Member.objects.none(),
        required=False,
        empty_label="Nobody: for the whole house",
    )

    def __init__(
        self, *args: Any, ways: list[WayOfUse], owners: QuerySet[Member], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        way: Any = self.fields["way"]
        way.choices = [(one.way, one.get_way_display()) for one in ways]
        way.initial = ways[0].way
        owner: Any = self.fields["owner"]
        owner.queryset = owners
        self.fields["happened_at"].label = "Mixed"
