"""Numbers of the parts of a law: what can happen to light that meets a surface."""

ABSORBED = -1
STRAIGHT = 0
MIRROR = 1
DIFFUSE = 2
THROUGH = 3
LOBE = 4
ONCE = 5
"""Off one wire of a screen."""
AGAIN = 6
"""Off several wires of a screen."""
PARTS = 7
FACETS = 7
"""Off several facets of a rough mirror, where that is told from LOBE, of which it is part."""
