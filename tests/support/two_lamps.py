"""A box with two lamps and walls and plates of every law, measured by planes that lie on its walls."""

from tests.support.wall_planes import WALLS, wall_planes

SIZE = (0.8, 0.5, 0.4)

# Invented laws and lamps, for tests alone.
HEAD = """
title = "Two lamps in a box"
[enclosure]
size = ["80 cm", "50 cm", "40 cm"]
walls = {{ {walls} }}
{openings}
[laws.pale]
kind = "lambertian"
reflectance = {{ wavelength = ["300 nm", "340 nm", "400 nm"], value = [0.1, 0.5, 0.8] }}
[laws.dark]
kind = "lambertian"
reflectance = 0.2
[laws.satin]
kind = "glossy"
reflectance = {{ wavelength = ["300 nm", "400 nm"], value = [0.9, 0.5] }}
specular_share = 0.7
roughness = 0.3
[laws.sheen]
kind = "glossy"
reflectance = 0.8
specular_share = 0.9
roughness = 0.1
[laws.bright]
kind = "mirror"
reflectance = {{ wavelength = ["300 nm", "400 nm"], value = [0.6, 0.9] }}
[laws.pane]
kind = "sheet"
n = 1.53
k = {{ wavelength = ["300 nm", "350 nm", "400 nm"], value = [1e-5, 1e-6, 1e-8] }}
thickness = "4 mm"
[laws.frond]
kind = "leaf"
reflectance = {{ wavelength = ["300 nm", "400 nm"], value = [0.1, 0.3] }}
transmittance = {{ wavelength = ["300 nm", "400 nm"], value = [0.5, 0.2] }}
[laws.mesh]
kind = "screen"
wire = ["0.3 mm", "0.5 mm"]
pitch = ["1.6 mm", "2 mm"]
[laws.bright-mesh]
kind = "screen"
wire = ["0.5 mm", "0.3 mm"]
mesh = 16
reflectance = {{ wavelength = ["300 nm", "400 nm"], value = [0.9, 0.6] }}
[laws.aluminium]
kind = "metal"
n = {{ wavelength = ["300 nm", "400 nm"], value = [0.26, 0.49] }}
k = {{ wavelength = ["300 nm", "400 nm"], value = [3.58, 4.86] }}
[[lamps]]
name = "tube"
kind = "tube"
from = ["15 cm", "20 cm", "30 cm"]
to = ["60 cm", "30 cm", "30 cm"]
radius = "2 cm"
body = {{ kind = "lambertian", reflectance = 0.6 }}
spectrum = {{ bands = [{{ peak = "320 nm", fwhm = "30 nm", from = "300 nm", to = "380 nm", weight = 1.0 }}] }}
output = {{ radiant = "3 W" }}
[[lamps]]
name = "panel"
kind = "panel"
corner = ["55 cm", "10 cm", "35 cm"]
edge_u = ["0 cm", "20 cm", "0 cm"]
edge_v = ["15 cm", "0 cm", "0 cm"]
body = "dark"
spectrum = {{ bands = [{{ peak = "370 nm", fwhm = "20 nm", from = "340 nm", to = "400 nm", weight = 1.0 }}] }}
output = {{ radiant = "1 W" }}
[animal]
reach = []
[run]
receiver_size = "25 cm"
wavelengths = ["300 nm", "400 nm"]
bands = "25 nm"
"""
_PANEL = """
kind = "panel"
corner = ["55 cm", "10 cm", "35 cm"]
edge_u = ["0 cm", "20 cm", "0 cm"]
edge_v = ["15 cm", "0 cm", "0 cm"]
"""
_SPOT = """
kind = "spot"
at = ["70 cm", "25 cm", "27 cm"]
facing = [-3, 1, -2]
diameter = "20 cm"
depth = "3 cm"
beam = "50 deg"
"""
PLATE = """
[[parts]]
name = "{name}"
kind = "plate"
corner = ["{x} cm", "{y} cm", "{z} cm"]
edge_u = ["{u} cm", "0 cm", "0 cm"]
edge_v = ["0 cm", "{v} cm", "{rise} cm"]
law = "{law}"
"""
TROUGH = """
[[reflectors]]
name = "trough"
lamp = "tube"
profile = "trough"
width = "12 cm"
depth = "5 cm"
above = "3 cm"
law = "aluminium"
outside = "pale"
"""
MATT = {"floor": "dark", "ceiling": "pale", "front": "dark", "back": "pale", "left": "dark", "right": "pale"}


def plate(name: str, law: str, x: int, y: int, z: int, u: int, v: int, rise: int = 0) -> str:
    return PLATE.format(name=name, law=law, x=x, y=y, z=z, u=u, v=v, rise=rise)


def scene(walls: dict[str, str], extra: str = "", openings: str = "") -> str:
    laws = ", ".join(f'{name} = "{law}"' for name, law in (MATT | walls).items())
    measured = {name: parts for name, parts in WALLS.items() if walls.get(name) != "mesh"}
    return HEAD.format(walls=laws, openings=openings) + extra + wall_planes(SIZE, measured)


SCENES = {
    "matt": scene({}),
    "glossy": scene({"back": "satin", "left": "sheen"}),
    "one mirror": scene({"left": "bright"}),
    "mirrors that face each other": scene({"left": "bright", "right": "bright", "floor": "bright"}),
    "metal": scene({"back": "aluminium", "ceiling": "aluminium"}),
    "pane": scene({}, plate("pane", "pane", 5, 5, 15, 60, 35)),
    "tilted pane by a mirror": scene({"back": "bright"}, plate("pane", "pane", 5, 5, 5, 60, 30, 15)),
    "leaf": scene({}, plate("leaf", "frond", 10, 5, 12, 50, 40)),
    "screens": scene({"ceiling": "mesh"}, plate("screen", "mesh", 5, 5, 15, 60, 30, 5)),
    "bright screens": scene(
        {"ceiling": "mesh"},
        plate("low", "bright-mesh", 5, 5, 10, 60, 30, 5) + plate("high", "bright-mesh", 5, 5, 15, 60, 30),
    ),
    "bright screen by a mirror": scene({"left": "bright"}, plate("screen", "bright-mesh", 5, 5, 15, 60, 30, 5)),
    "glossy and mirror, pane, leaf and screen": scene(
        {"back": "satin", "left": "bright", "right": "sheen"},
        plate("pane", "pane", 5, 5, 22, 30, 35)
        + plate("leaf", "frond", 40, 5, 12, 30, 40)
        + plate("screen", "mesh", 5, 5, 8, 60, 30, 5),
    ),
    "reflector": scene({"floor": "satin"}, TROUGH),
    "spot by a mirror": scene({"left": "bright", "back": "satin"}).replace(_PANEL, _SPOT),
    "hole": scene(
        {"left": "satin"},
        openings='[[enclosure.openings]]\nwall = "front"\ncorner = ["20 cm", "5 cm"]\nsize = ["30 cm", "20 cm"]',
    ),
}

RICHEST = "glossy and mirror, pane, leaf and screen"
"""The scene with the most kinds of surface."""
