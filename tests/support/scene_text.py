"""A scene that is right in every way, and texts that differ from it in one place."""

VIVARIUM = """\
title = "A tube under the lid"
note = "For tests."

[enclosure]
size = ["120 cm", "60 cm", "60 cm"]

[enclosure.walls]
all = "melamine-white"
floor = "sand-dry"
back = { kind = "lambertian", reflectance = 0.3 }

[laws.slate]
kind = "glossy"
reflectance = 0.2
specular_share = 0.5
roughness = 0.3

[[lamps]]
name = "tube"
kind = "tube"
from = ["30 cm", "30 cm", "55 cm"]
to = ["90 cm", "30 cm", "55 cm"]
radius = "8 mm"
spectrum = "uvb-phosphor-306"
output = { radiant = "1.5 W" }

[[reflectors]]
name = "trough"
profile = "trough"
lamp = "tube"
width = "9 cm"
depth = "3 cm"
above = "15 mm"
law = "polished-aluminium"

[[parts]]
name = "ledge"
kind = "ledge"
corner = ["80 cm", "20 cm", "20 cm"]
size = ["30 cm", "20 cm", "3 cm"]
law = "slate"

[animal]
back_height = "3 cm"
reach = ["floor", "ledge.top"]

[[sensors]]
name = "meter"
kind = "point"
at = ["60 cm", "30 cm", "25 cm"]
towards = "tube"

[[zones]]
name = "basking"
role = "basking"
surface = "ledge.top"
region = [["5 cm", "5 cm"], ["25 cm", "15 cm"]]
target = { exposure_zone = 3 }

[run]
histories = 1000
receiver_size = "10 cm"
"""


def altered(old: str, new: str) -> str:
    """Return the scene with one piece of its text exchanged."""
    assert VIVARIUM.count(old) == 1, f"{old!r} does not stand once in the scene"
    return VIVARIUM.replace(old, new)


def line_with(text: str, piece: str) -> int:
    """Return the number of the one line that is a piece of text, or else of the one that holds it."""
    numbered = list(enumerate(text.splitlines(), 1))
    lines = [number for number, line in numbered if line == piece] or [
        number for number, line in numbered if piece in line
    ]
    assert len(lines) == 1, f"{piece!r} stands on the lines {lines}"
    return lines[0]
