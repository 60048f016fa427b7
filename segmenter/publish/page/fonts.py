"""The page's typeface as style rules, packed so that the page stays light."""

from __future__ import annotations

import base64
import struct
import zlib
from functools import cache
from importlib.resources import files

FACES = (("Regular", 400), ("Bold", 700))


@cache
def font_rules() -> str:
    """Return ``@font-face`` rules that carry Atkinson Hyperlegible inside them."""
    folder = files("fontpkg_atkinson_hyperlegible") / "files"
    rules = []
    for face, weight in FACES:
        letters = woff((folder / f"AtkinsonHyperlegible-{face}.ttf").read_bytes())
        rules.append(
            f'@font-face{{font-family:"Atkinson Hyperlegible";font-weight:{weight};font-display:swap;'
            f'src:url("data:font/woff;base64,{base64.b64encode(letters).decode()}") format("woff")}}'
        )
    return "\n".join(rules)


def woff(truetype: bytes) -> bytes:
    """Return a TrueType file as WOFF, about half as large (W3C WOFF File Format 1.0, sections 3 to 5)."""
    flavour, count = struct.unpack(">IH", truetype[:6])
    directory, body, at = b"", b"", 44 + 20 * count
    for number in range(count):
        tag, check, offset, length = struct.unpack_from(">4sIII", truetype, 12 + 16 * number)
        table = truetype[offset : offset + length]
        packed = min(zlib.compress(table, 9), table, key=len)
        directory += struct.pack(">4sIIII", tag, at + len(body), len(packed), length, check)
        body += packed + bytes(-len(packed) % 4)
    # The size once unpacked counts header, directory and tables, each filled up to four bytes.
    lengths = [struct.unpack_from(">I", truetype, 12 + 16 * n + 12)[0] for n in range(count)]
    unpacked = 12 + 16 * count + sum(length + -length % 4 for length in lengths)
    head = struct.pack(">4sIIHHI", b"wOFF", flavour, at + len(body), count, 0, unpacked)
    return head + struct.pack(">HHIIIII", 1, 0, 0, 0, 0, 0, 0) + directory + body
