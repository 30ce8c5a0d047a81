"""The person's own configuration folder, and the seal by which the program knows again what it wrote here."""

import hmac
import os
import secrets
import sys
from contextlib import suppress
from hashlib import sha256
from pathlib import Path

_KEY = "seal.key"
_LENGTH = 32


def folder() -> Path:
    """Return the person's configuration folder: XDG_CONFIG_HOME, or the system's own place; it need not be there.

    A relative path is not taken (XDG Base Directory Specification 0.8): the current folder is nobody's own.
    """
    named = Path(os.environ.get("APPDATA" if os.name == "nt" else "XDG_CONFIG_HOME", ""))
    if named.is_absolute():
        return named / "bonefolder"
    try:
        home = Path.home()
    except RuntimeError:  # a user without a home has no folder of their own
        return Path(os.devnull) / "bonefolder"
    return home / ("Library/Application Support" if sys.platform == "darwin" else ".config") / "bonefolder"


def seal(data: bytes) -> str:
    """Return a seal that only this person's program can make (HMAC, RFC 2104); nothing where no key can be kept."""
    key = _key()
    return hmac.new(key, data, sha256).hexdigest() if key else ""


def is_sealed(data: bytes, given: object) -> bool:
    """Return whether the program of this person has sealed the data."""
    return isinstance(given, str) and given.isascii() and bool(given) and hmac.compare_digest(seal(data), given)


def _key() -> bytes:
    path = folder() / _KEY
    with suppress(OSError):
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            _begin(path)
        key = path.read_bytes()
        return key if len(key) == _LENGTH else b""
    return b""


def _begin(path: Path) -> None:
    """Write a new key, whole or not at all; where two programs begin at once, the first one's stands."""
    new = path.with_name(f".{_KEY}-{secrets.token_hex(8)}")
    handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(secrets.token_bytes(_LENGTH))
        with suppress(FileExistsError):
            os.link(new, path)
    finally:
        new.unlink(missing_ok=True)
