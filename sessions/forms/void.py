from __future__ import annotations

from django import forms

from chemistry.forms.fields import KeyedForm, words_field
from sessions.voiding import MOST_REASON


class VoidForm(KeyedForm):
    reason = words_field(
        "What was wrong with the record",
        MOST_REASON,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="It stays readable, with this reason. Enter the run again as it really was.",
    )
