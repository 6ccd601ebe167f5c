"""Where the house keeps what is not code: database, secret key, collected static files."""

from __future__ import annotations

import hashlib
import os
import secrets
import tempfile
from contextlib import suppress
from pathlib import Path


def data_folder(checkout: Path) -> Path:
    """The data folder of this checkout; nothing is made here."""
    given = os.environ.get("WETSIDE_DATA")
    if given:
        return Path(given).resolve()
    if os.geteuid() == 0:
        name = hashlib.sha256(str(checkout).encode()).hexdigest()[:16]
        return Path("/var/lib/wetside") / name
    return checkout / ".wetside"


def secret_key(folder: Path) -> str:
    """The given secret key, or the data folder's own, made when first asked for."""
    given = os.environ.get("WETSIDE_SECRET_KEY")
    if given:
        return given
    given_file = os.environ.get("WETSIDE_SECRET_KEY_FILE")
    path = Path(given_file) if given_file else folder / "secret_key"
    if not given_file:
        _make_once(path)
    return path.read_text(encoding="ascii").strip()


def _make_once(path: Path) -> None:
    """Write a new key unless there is one; whoever reads it never finds half of it."""
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    descriptor, unfinished = tempfile.mkstemp(dir=path.parent, prefix="secret_key.")
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(50))
    with suppress(FileExistsError):
        os.link(unfinished, path)
    os.unlink(unfinished)
