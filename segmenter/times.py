"""The only conversions between milliseconds, seconds, samples and text.

A point in time is a whole number of milliseconds from the start of the recording,
so that chapters meet exactly; seconds exist only in JSON, in numpy and on screens.
"""

from __future__ import annotations

import re

_CLOCK = re.compile(r"^(?:(?P<h>\d{1,3}):)?(?P<m>\d{1,4}):(?P<s>[0-5]?\d)(?:[.,](?P<f>\d{1,6}))?$")


def ms_from_seconds(seconds: float) -> int:
    """Round seconds to whole milliseconds.

    >>> ms_from_seconds(1.0005), ms_from_seconds(62)
    (1000, 62000)
    """
    return round(seconds * 1000)


def seconds(ms: float) -> float:
    """Milliseconds as seconds with three decimals.

    >>> seconds(1234)
    1.234
    """
    return round(ms / 1000, 3)


def ms_from_samples(samples: int, rate: int) -> int:
    """Sample index at `rate` per second as milliseconds.

    >>> ms_from_samples(8000, 16000)
    500
    """
    return round(samples * 1000 / rate)


def samples_from_ms(ms: int, rate: int) -> int:
    """Milliseconds as a sample index at `rate` per second.

    >>> samples_from_ms(500, 16000)
    8000
    """
    return round(ms * rate / 1000)


def clock(ms: int, *, hours: bool | None = None) -> str:
    """Return ``M:SS`` or ``H:MM:SS``, cut (not rounded) to the second, as people read a player.

    Parameters
    ----------
    ms : int
        Point in time.
    hours : bool or None
        Always or never write hours; None writes them when they are not zero.

    >>> clock(62_900), clock(3_600_000), clock(62_900, hours=True)
    ('1:02', '1:00:00', '0:01:02')
    """
    total = ms // 1000
    h, rest = divmod(total, 3600)
    m, s = divmod(rest, 60)
    if hours or (hours is None and h):
        return f"{h}:{m:02d}:{s:02d}"
    return f"{h * 60 + m}:{s:02d}"


def stamp(ms: int, mark: str = ".") -> str:
    """Return ``HH:MM:SS.mmm`` as WebVTT writes it; pass ``","`` for SRT.

    >>> stamp(3_723_004), stamp(62_000, ",")
    ('01:02:03.004', '00:01:02,000')
    """
    whole, thousandths = divmod(ms, 1000)
    h, rest = divmod(whole, 3600)
    m, s = divmod(rest, 60)
    return f"{h:02d}:{m:02d}:{s:02d}{mark}{thousandths:03d}"


def ms_from_clock(text: str) -> int | None:
    """Read ``M:SS``, ``MM:SS.mmm`` or ``H:MM:SS,mmm``; None when it is no such stamp.

    >>> ms_from_clock("1:02"), ms_from_clock("00:01:02,500"), ms_from_clock("soon")
    (62000, 62500, None)
    """
    match = _CLOCK.match(text.strip())
    if match is None:
        return None
    fraction = int((match["f"] or "0").ljust(3, "0")[:3])
    minutes = int(match["m"])
    if match["h"] is not None and minutes > 59:
        return None
    return ((int(match["h"] or 0) * 60 + minutes) * 60 + int(match["s"])) * 1000 + fraction


def counted(number: int, thing: str) -> str:
    """Return a number with its noun.

    >>> counted(1, "practice stop"), counted(3, "second")
    ('1 practice stop', '3 seconds')
    """
    return f"{number} {thing}{'s' * (number != 1)}"


def spoken_length(ms: float) -> str:
    """Return a length in plain words, to the second.

    >>> spoken_length(13_200), spoken_length(60_000), spoken_length(95_000)
    ('13 seconds', '1 minute', '1 minute 35 seconds')
    """
    total = round(ms / 1000)
    m, s = divmod(total, 60)
    parts = []
    if m:
        parts.append(counted(m, "minute"))
    if s or not m:
        parts.append(counted(s, "second"))
    return " ".join(parts)
