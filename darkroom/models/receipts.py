from __future__ import annotations

from django.db import models

from darkroom.models.members import Member


class Receipt(models.Model):
    """What a form key was answered with, so that a form sent twice is done once."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="receipts")
    key = models.UUIDField()
    operation = models.CharField(max_length=40)
    digest = models.CharField(max_length=64)
    result = models.CharField(max_length=64, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("member", "key"), name="receipt_member_key_unique"),
        )

    def __str__(self) -> str:
        return f"{self.operation} {self.key}"

    def settle(self, result: object) -> None:
        self.result = str(result)
        self.save(update_fields=["result"])
