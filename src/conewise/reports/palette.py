"""Colours for magnitudes, readable by everyone and in grey."""

from __future__ import annotations

# Seventeen even steps of the map "cividis": Nuñez, Anderton and Renslow, Optimizing colormaps with consideration for
# color vision deficiency to enable accurate interpretation of scientific data, PLOS ONE 13(7) e0199239, 2018, S1 data.
_CIVIDIS = (
    (0x00, 0x22, 0x4E),
    (0x00, 0x2E, 0x6A),
    (0x1A, 0x38, 0x6F),
    (0x32, 0x43, 0x6D),
    (0x43, 0x4E, 0x6C),
    (0x53, 0x5A, 0x6D),
    (0x61, 0x65, 0x6F),
    (0x6F, 0x70, 0x73),
    (0x7D, 0x7C, 0x78),
    (0x8C, 0x88, 0x78),
    (0x9B, 0x94, 0x76),
    (0xAB, 0xA0, 0x72),
    (0xBC, 0xAE, 0x6C),
    (0xCD, 0xBB, 0x63),
    (0xDE, 0xC9, 0x58),
    (0xF0, 0xD8, 0x46),
    (0xFE, 0xE8, 0x38),
)


def cividis(share: float) -> str:
    """Colour of a share of the range, as `#rrggbb`.

    Parameters
    ----------
    share : float
        0 for the lowest value (dark blue) to 1 for the highest (yellow); clipped.

    Examples
    --------
    >>> cividis(0.0), cividis(1.0)
    ('#00224e', '#fee838')
    """
    place = min(max(share, 0.0), 1.0) * (len(_CIVIDIS) - 1)
    lower = min(int(place), len(_CIVIDIS) - 2)
    rest = place - lower
    mixed = (round(a + rest * (b - a)) for a, b in zip(_CIVIDIS[lower], _CIVIDIS[lower + 1], strict=True))
    return "#" + "".join(f"{channel:02x}" for channel in mixed)
