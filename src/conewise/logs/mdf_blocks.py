"""The blocks of an MDF 4 file, looked through before a reader is let in: whole, inside the file, and in no circle.

ASAM MDF 4.1 (public summary of the standard): an identification of 64 bytes, then blocks that begin with `##` and two
letters, four reserved bytes, their length and the number of their links, each link the place of another block.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_HEADER = struct.Struct("<4sIQQ")
_FIRST = 64  # where the block of the header stands
_MOST_BLOCKS = 400_000
_MOST_DATA = 2_000_000_000  # bytes of samples, unpacked
_RECORDS = struct.Struct("<QQHHII")  # of a channel group: record id, cycles, flags, separator, reserved, bytes

# Links that may point back: the axes and the master of a channel, scopes of events, the inverse of a conversion.
_BACKWARD = {b"##CN": range(8, 1 << 20), b"##CG": range(6, 1 << 20), b"##CC": range(3, 4), b"##EV": range(1, 1 << 20),
             b"##CA": range(1, 1 << 20), b"##CH": range(4, 1 << 20), b"##SR": range(2, 1 << 20)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Broken:
    """What is wrong with the blocks. offset: where in the file"""

    problem: str
    offset: int


def broken_block(content: bytes) -> Broken | None:
    """The first thing that is wrong with the blocks of a file; None where nothing is.

    Parameters
    ----------
    content : bytes
        The whole file.
    """
    state: dict[int, int] = {}  # 1 while its links are followed, 2 when done
    stack: list[tuple[int, Iterator[tuple[int, bool]]]] = []
    sizes: dict[str, int] = {"data": 0, "records": 0}

    def enter(offset: int) -> Broken | None:
        links = _links(content, offset)
        if isinstance(links, Broken):
            return links
        state[offset] = 1
        _count(content, offset, sizes)
        stack.append((offset, iter(links)))
        return None

    found = enter(_FIRST)
    while stack and found is None:
        offset, links = stack[-1]
        link, is_forward = next(links, (0, False))
        if link == 0 and not is_forward:
            state[offset] = 2
            stack.pop()
        elif state.get(link) == 1 and is_forward:
            found = Broken("its blocks point in a circle", offset)
        elif link not in state:
            found = enter(link)
        if len(state) > _MOST_BLOCKS:
            found = Broken("it has too many blocks", offset)
    if found is None and max(sizes.values()) > _MOST_DATA:
        found = Broken("it says that it unpacks to more than two gigabytes", 0)
    if found is None and sizes["records"] > sizes["data"]:
        found = Broken("it says that it has more records than data", 0)
    return found


def _links(content: bytes, offset: int) -> list[tuple[int, bool]] | Broken:
    """Links of a block that are set, each with whether it points forward."""
    if offset + _HEADER.size > len(content):
        return Broken("it is cut off", offset)
    name, _, length, count = _HEADER.unpack_from(content, offset)
    if not name.startswith(b"##"):
        return Broken("a link leads to no block", offset)
    if offset + length > len(content):
        return Broken("it is cut off", offset)
    if length < _HEADER.size + 8 * count:
        return Broken("a block is shorter than its links", offset)
    backward = _BACKWARD.get(name, range(0))
    places = struct.unpack_from(f"<{count}Q", content, offset + _HEADER.size)
    return [(place, index not in backward) for index, place in enumerate(places) if place]


def _count(content: bytes, offset: int, sizes: dict[str, int]) -> None:
    """Bytes of samples that a block holds, and bytes of records that a channel group says it has."""
    name, _, length, count = _HEADER.unpack_from(content, offset)
    start = offset + _HEADER.size + 8 * count
    if name in {b"##DT", b"##SD", b"##DV", b"##DI", b"##RD", b"##RV"}:
        sizes["data"] += length - _HEADER.size
    elif name == b"##DZ" and start + 24 <= offset + length:
        sizes["data"] += struct.unpack_from("<Q", content, start + 8)[0]
    elif name == b"##CG" and start + _RECORDS.size + 4 <= offset + length:
        _, cycles, flags, _, _, per_record = _RECORDS.unpack_from(content, start)
        sizes["records"] += 0 if flags & 1 else cycles * per_record
