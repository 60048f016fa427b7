"""Data made small for the page, and out of sight: an answer must not be read in its source by accident."""

from __future__ import annotations

import base64
import json
import zlib
from typing import Any


def pack(value: Any) -> tuple[str, int]:
    """Return a JSON value as deflated base64 text (RFC 1951, RFC 4648) and its length once unpacked."""
    plain = json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()
    squeeze = zlib.compressobj(9, zlib.DEFLATED, -15)
    return base64.b64encode(squeeze.compress(plain) + squeeze.flush()).decode(), len(plain)


def unpack(text: str) -> Any:
    """Return what `pack` was given."""
    return json.loads(zlib.decompress(base64.b64decode(text), -15))
