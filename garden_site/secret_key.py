"""A signing key that a fresh install makes for itself and keeps."""

import os
import secrets
from pathlib import Path


def kept_secret_key(folder: Path) -> str:
    """Return the key in ``folder``; make it on first use, readable by its owner only.

    Two processes that start together agree: the file is created exclusively and the
    loser reads the winner's key.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "secret_key"
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text().strip()
    with os.fdopen(handle, "w") as file:
        key = secrets.token_urlsafe(64)
        file.write(key)
    return key
