"""What a photo tells beside the picture: place, device, moment and words are taken out before it is kept.

Segments of JPEG: ITU-T T.81 (1992), annex B; Exif in APP1 and its orientation tag 0x0112: JEITA CP-3451 (from memory).
Chunks of PNG: Portable Network Graphics, third edition, W3C 2025, 11.3. Chunks of WebP: RFC 9649 (2024), 2.7.
"""

from __future__ import annotations

import struct

# What a picture needs; whatever else stands beside it goes, also what nobody has thought of yet.
_PICTURE = {0xE0: b"", 0xE2: b"ICC_PROFILE\0", 0xEE: b""}  # application segments of JPEG: JFIF, profile, transform
_COLOURS = {b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"mDCV", b"cLLI", b"bKGD", b"pHYs"}
_MOVES = {b"acTL", b"fcTL", b"fdAT"}  # of PNG: the pictures of an animation
_WEBP = {b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ANIM", b"ANMF", b"ICCP"}
_EXIF = b"Exif\0\0"
_ORIENTATION = 0x0112
_HAS_TOLD = 0x08 | 0x04  # flags of WebP: Exif, XMP


class DamagedPhotoError(ValueError):
    """The parts of a picture do not follow each other as its format says."""


def picture_alone(content: bytes, kind: str) -> bytes:
    """A picture without what it tells beside it; which way up a JPEG is shown stays.

    Parameters
    ----------
    content : bytes
    kind : str
        "image/jpeg", "image/png" or "image/webp".

    Raises
    ------
    DamagedPhotoError
        If its parts cannot be told.
    """
    try:
        return {"image/jpeg": _jpeg, "image/png": _png, "image/webp": _webp}[kind](content)
    except (IndexError, struct.error):
        raise DamagedPhotoError from None


def _jpeg(content: bytes) -> bytes:
    """Segments up to the end of the picture; what follows it, such as a second picture with its own, is left."""
    kept, at = [content[:2]], 2
    while True:
        if content[at] != 0xFF:
            raise DamagedPhotoError
        marker = content[at + 1]
        if marker == 0xFF:  # a byte that fills up
            at += 1
            continue
        if marker == 0xD9:
            return b"".join([*kept, b"\xff\xd9"])
        end = at + 2 + struct.unpack_from(">H", content, at + 2)[0]
        if end > len(content) or end < at + 4:
            raise DamagedPhotoError
        if marker == 0xDA:
            end = _scan_end(content, end)
        segment = content[at:end]
        if marker == 0xE1:
            kept.append(_way_up(segment[4:]))
        elif not (0xE0 <= marker <= 0xEF or marker == 0xFE) or _is_of_picture(marker, segment):
            kept.append(segment)
        at = end


def _is_of_picture(marker: int, segment: bytes) -> bool:
    """Whether an application segment of JPEG is one that colours need."""
    return marker in _PICTURE and segment[4:].startswith(_PICTURE[marker])


def _scan_end(content: bytes, at: int) -> int:
    """Where the next marker stands behind the data of a scan."""
    while True:
        at = content.find(b"\xff", at)
        if at < 0:
            raise DamagedPhotoError
        following = content[at + 1]
        if following not in (0x00, 0xFF) and not 0xD0 <= following <= 0xD7:
            return at
        at += 1 if following == 0xFF else 2


def _way_up(told: bytes) -> bytes:
    """A segment with the orientation alone; nothing where a picture stands as it is stored."""
    if not told.startswith(_EXIF):
        return b""
    tiff = told[len(_EXIF) :]
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 10:
        return b""
    start = struct.unpack_from(f"{order}I", tiff, 4)[0]
    if start + 2 > len(tiff):
        return b""
    for k in range(struct.unpack_from(f"{order}H", tiff, start)[0]):
        place = start + 2 + 12 * k
        if place + 12 > len(tiff):
            break
        tag, _, _, value = struct.unpack_from(f"{order}HHIH", tiff, place)
        if tag == _ORIENTATION and 2 <= value <= 8:
            entry = struct.pack(">HHIHH", _ORIENTATION, 3, 1, value, 0)
            body = _EXIF + b"MM\0*" + struct.pack(">IH", 8, 1) + entry + bytes(4)
            return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
    return b""


def _png(content: bytes) -> bytes:
    kept, at = [content[:8]], 8
    while True:
        length, name = struct.unpack_from(">I4s", content, at)
        end = at + 12 + length
        if end > len(content):
            raise DamagedPhotoError
        if name[:1].isupper() or name in _COLOURS or name in _MOVES:  # a capital: nobody can do without it
            kept.append(content[at:end])
        if name == b"IEND":
            return b"".join(kept)
        at = end


def _webp(content: bytes) -> bytes:
    kept, at, end = [], 12, 8 + struct.unpack_from("<I", content, 4)[0]
    if end > len(content):
        raise DamagedPhotoError
    while at < end:
        name, length = struct.unpack_from("<4sI", content, at)
        after = at + 8 + length + length % 2
        if at + 8 + length > end:
            raise DamagedPhotoError
        chunk = content[at:after]
        if name == b"VP8X":
            chunk = chunk[:8] + bytes([chunk[8] & ~_HAS_TOLD]) + chunk[9:]
        if name in _WEBP:
            kept.append(chunk)
        at = after
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body
