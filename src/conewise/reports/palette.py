"""Colours for magnitudes, readable by everyone and in grey."""

from __future__ import annotations

# Ten even steps of the map "cividis": Nuñez, Anderton and Renslow, Optimizing colormaps with consideration for color
# vision deficiency to enable accurate interpretation of scientific data, PLOS ONE 13(7) e0199239, 2018, S1 data.
_CIVIDIS = (
    (0x00, 0x22, 0x4E),
    (0x12, 0x35, 0x70),
    (0x3B, 0x49, 0x6C),
    (0x57, 0x5D, 0x6D),
    (0x70, 0x71, 0x73),
    (0x8A, 0x86, 0x78),
    (0xA5, 0x9C, 0x74),
    (0xC3, 0xB3, 0x69),
    (0xE1, 0xCC, 0x55),
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
