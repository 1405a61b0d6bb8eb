"""Small pictures for tests, with what cameras write beside them."""

from __future__ import annotations

import struct
import zlib

SECRETS = (b"CAMERA-1234", b"47.1234N", b"my garden")  # what must not be kept
_SCAN = (
    b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" + b"\x12\xff\x00\x34\xff\xd0\x56"
)  # with a stuffed byte and a restart


def exif(orientation=1, order=">"):
    """A camera's segment: device, place, and which way up the picture is."""
    begin = b"MM\0*" if order == ">" else b"II*\0"
    entries = struct.pack(f"{order}HHIHH", 0x0112, 3, 1, orientation, 0)
    entries += struct.pack(f"{order}HHII", 0x010F, 2, 12, 60)
    tiff = begin + struct.pack(f"{order}IH", 8, 2) + entries + bytes(4)
    return b"Exif\0\0" + tiff + b"".join(SECRETS)


def photo(kind, orientation=1, order=">"):
    """A picture of a kind with everything beside it that a camera or a program may write."""
    if kind == "jpeg":
        parts = [
            (0xE0, b"JFIF\0" + bytes(9)),
            (0xE1, exif(orientation, order)),
            (0xE1, b"http://ns.adobe.com/xap/1.0/\0" + SECRETS[1]),
            (0xE2, b"ICC_PROFILE\0\1\1"),
            (0xE2, b"FPXR\0" + SECRETS[0]),
            (0xEB, b"JP\0\1" + SECRETS[1]),
            (0xED, SECRETS[2]),
            (0xFE, SECRETS[0]),
            (0xDB, bytes(65)),
            (0xC0, bytes(15)),
        ]
        segments = b"".join(struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body for marker, body in parts)
        return b"\xff\xd8" + segments + _SCAN + b"\xff\xd9" + b"behind the end: " + SECRETS[0]
    if kind == "png":
        parts = [(b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)), (b"eXIf", exif()[6:]), (b"tEXt", SECRETS[2]),
                 (b"gAMA", bytes(4)), (b"caBX", SECRETS[0]), (b"IDAT", zlib.compress(b"\0\x80")), (b"tIME", bytes(7)),
                 (b"IEND", b"")]  # fmt: skip
        chunks = (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
            for name, body in parts
        )
        return b"\x89PNG\r\n\x1a\n" + b"".join(chunks) + SECRETS[1]
    parts = [(b"VP8X", bytes([0x0C]) + bytes(9)), (b"VP8 ", bytes(11)), (b"EXIF", exif()), (b"XMP ", SECRETS[1]),
             (b"C2PA", SECRETS[2])]  # fmt: skip
    chunks = (name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2) for name, body in parts)
    body = b"WEBP" + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(body)) + body
