from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from urllib.parse import urljoin

from django.conf import settings
from django.core.management.base import BaseCommand
from django.urls import reverse

from darkroom import access
from darkroom.serving import preparing


class Command(BaseCommand):
    help = "Bring tables, catalogue and static files up to date, before a web server starts."

    def handle(self, *args: Any, **options: Any) -> None:
        preparing.prepare()
        issued = access.issue_bootstrap_link(at=datetime.now(UTC))
        if issued is not None:
            path = reverse("darkroom:open-house", args=[issued.token])
            self.stdout.write("The first administrator comes in here, once, within seven days:")
            self.stdout.write(urljoin(settings.ORIGIN or "http://127.0.0.1:8000", path))
