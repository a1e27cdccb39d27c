"""Ways in which a file on disk comes to harm."""

from collections.abc import Callable

import numpy as np

Damage = Callable[[bytes], bytes]


def _turned(content: bytes, first: int, last: int) -> bytes:
    return content[:first] + bytes(255 - byte for byte in content[first:last]) + content[last:]


def _scattered(seed: int) -> Damage:
    """Bytes at random places get random values, none their old one."""

    def damage(content: bytes) -> bytes:
        rng = np.random.Generator(np.random.PCG64(seed))
        spoilt = np.frombuffer(content, dtype=np.uint8).copy()
        places = rng.integers(0, len(spoilt), 40)
        spoilt[places] += rng.integers(1, 256, 40).astype(np.uint8)
        return spoilt.tobytes()

    return damage


DAMAGES: dict[str, Damage] = {
    "empty": lambda content: b"",
    "cut short": lambda content: content[: len(content) // 2],
    "cut by a byte": lambda content: content[:-1],
    "text": lambda content: b"not an archive\n",
    "first bytes": lambda content: _turned(content, 0, 8),
    "name of the first member": lambda content: _turned(content, 30, 36),
    "middle": lambda content: _turned(content, len(content) // 2, len(content) // 2 + 64),
    "directory at the end": lambda content: _turned(content, len(content) - 200, len(content) - 100),
    "here and there": _scattered(1),
    "here and there again": _scattered(2),
}
"""By what is damaged."""
