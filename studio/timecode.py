"""Milliseconds to and from every clock format that a file of the folio uses."""

import re

_CLOCK = re.compile(r"(?:(\d{1,4}):)?(\d{1,3}):(\d{2})(?:[.,](\d{1,3}))?")
_ISO_DURATION = re.compile(r"P(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)(?:\.(\d{1,3}))?S)?)?")


def _parts(ms: int) -> tuple[int, int, int, int]:
    seconds, rest = divmod(ms, 1000)
    return seconds // 3600, seconds // 60 % 60, seconds % 60, rest


def clock(ms: int) -> str:
    """Return the time as people write it: `6:20`, `1:06:20`; cut to the second."""
    hours, minutes, seconds, _ = _parts(ms)
    return f"{hours}:{minutes:02d}:{seconds:02d}" if hours else f"{minutes}:{seconds:02d}"


def vtt(ms: int) -> str:
    """Return a WebVTT timestamp, `00:06:20.000` (W3C WebVTT, section 4.1)."""
    return "{:02d}:{:02d}:{:02d}.{:03d}".format(*_parts(ms))


def srt(ms: int) -> str:
    """Return a SubRip timestamp, `00:06:20,000`."""
    return vtt(ms).replace(".", ",")


def iso_duration(ms: int) -> str:
    """Return an ISO 8601 duration, `PT6M20S`; milliseconds are kept where there are any."""
    hours, minutes, seconds, rest = _parts(ms)
    head = (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes else "")
    tail = f"{seconds}" + (f".{rest:03d}".rstrip("0") if rest else "")
    return "PT" + head + (f"{tail}S" if seconds or rest or not head else "")


def read_clock(text: str) -> int:
    """Return the milliseconds of `6:20`, `1:06:20`, `00:06:20.000` or `00:06:20,000`.

    Raises:
        ValueError: the text is no such time.
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        raise ValueError(f"{text!r} is no time such as 6:20 or 1:06:20")
    hours, minutes, seconds, rest = match.groups()
    if int(seconds) > 59 or (hours is not None and int(minutes) > 59):
        raise ValueError(f"{text!r} has more than 59 minutes or seconds in a place")
    whole = int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds)
    return whole * 1000 + int((rest or "0").ljust(3, "0"))


def read_iso_duration(text: str) -> int:
    """Return the milliseconds of an ISO 8601 duration in days, hours, minutes and seconds.

    Raises:
        ValueError: the text is no duration, or counts years or months, which have no fixed length (`P10M` is ten
            months).
    """
    match = _ISO_DURATION.fullmatch(text)
    if match is None or not any(match.groups()):
        raise ValueError(f"{text!r} is no ISO 8601 duration of days, hours, minutes and seconds")
    days, hours, minutes, seconds, rest = match.groups()
    whole = int(days or 0) * 86400 + int(hours or 0) * 3600 + int(minutes or 0) * 60 + int(seconds or 0)
    return whole * 1000 + int((rest or "0").ljust(3, "0"))
