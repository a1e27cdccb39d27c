"""Pieces of scene files as a user would write them, for set-ups with other numbers than those kept as files."""

from collections.abc import Iterable, Mapping

Triple = tuple[float, float, float]

UVA = 'spectrum = "uva-phosphor-368"'
"""One narrow band: nothing in these scenes depends on wavelength."""
BLACK = 'body = "black"'


def lengths(values: Iterable[float]) -> str:
    """Metres as a scene file has them: ``["0.3 m", "0.2 m"]``."""
    return "[" + ", ".join(f'"{float(value)!r} m"' for value in values) + "]"


def matt(reflectance: float) -> str:
    """An inline law."""
    return f'{{ kind = "lambertian", reflectance = {reflectance!r} }}'


def scene(title: str, *blocks: str, histories: int, receiver_size: float = 0.1) -> str:
    """A whole scene."""
    run = f'[run]\nhistories = {histories}\nreceiver_size = "{receiver_size!r} m"'
    return "\n\n".join([f'title = "{title}"', *blocks, run]) + "\n"


def box(size: Triple, walls: Mapping[str, str]) -> str:
    """An enclosure; `walls` holds each wall's law as TOML, or one for ``all``."""
    rows = "\n".join(f"{wall} = {law}" for wall, law in walls.items())
    return f"[enclosure]\nsize = {lengths(size)}\n\n[enclosure.walls]\n{rows}"


def tube(
    start: Triple, end: Triple, radius: float, power: float, *, name: str = "tube", extra: str = BLACK, light: str = UVA
) -> str:
    """A tube lamp."""
    return (
        f'[[lamps]]\nname = "{name}"\nkind = "tube"\nfrom = {lengths(start)}\nto = {lengths(end)}\n'
        f'radius = "{radius!r} m"\n{light}\noutput = {{ radiant = "{power!r} W" }}\n{extra}'
    )


def panel(
    corner: Triple, edge_u: Triple, edge_v: Triple, power: float, *, name: str = "panel", extra: str = BLACK
) -> str:
    """A flat lamp that shines to ``edge_u x edge_v``."""
    return (
        f'[[lamps]]\nname = "{name}"\nkind = "panel"\ncorner = {lengths(corner)}\nedge_u = {lengths(edge_u)}\n'
        f'edge_v = {lengths(edge_v)}\n{UVA}\noutput = {{ radiant = "{power!r} W" }}\n{extra}'
    )


def plate(name: str, corner: Triple, edge_u: Triple, edge_v: Triple, law: str = '"black"') -> str:
    """A thin sheet, read on the side of ``edge_u x edge_v``."""
    return (
        f'[[parts]]\nname = "{name}"\nkind = "plate"\ncorner = {lengths(corner)}\nedge_u = {lengths(edge_u)}\n'
        f"edge_v = {lengths(edge_v)}\nlaw = {law}"
    )


def point(name: str, at: Triple, normal: Triple = (0.0, 0.0, 1.0)) -> str:
    """A meter."""
    return f'[[sensors]]\nname = "{name}"\nkind = "point"\nat = {lengths(at)}\nnormal = {[float(n) for n in normal]}'


def plane(name: str, corner: Triple, edge_u: Triple, edge_v: Triple) -> str:
    """A rectangle whose mean is measured."""
    return (
        f'[[sensors]]\nname = "{name}"\nkind = "plane"\ncorner = {lengths(corner)}\nedge_u = {lengths(edge_u)}\n'
        f"edge_v = {lengths(edge_v)}"
    )


def spot(
    at: Triple,
    facing: Triple,
    diameter: float,
    shape: str = 'beam = "120 deg"',
    *,
    power: float = 1.0,
    light: str = UVA,
) -> str:
    """A round aperture; a beam of 120 degrees is a matt disc."""
    strength = f'output = {{ radiant = "{power!r} W" }}' if "file_unit" not in shape else ""
    return (
        f'[[lamps]]\nname = "spot"\nkind = "spot"\nat = {lengths(at)}\nfacing = {[float(x) for x in facing]}\n'
        f'diameter = "{diameter!r} m"\n{shape}\n{light}\n{strength}\n{BLACK}'
    )


def ball(name: str, centre: Triple, radius: float, law: str = '"black"') -> str:
    """A sphere."""
    return (
        f'[[parts]]\nname = "{name}"\nkind = "sphere"\ncentre = {lengths(centre)}\nradius = "{radius!r} m"\nlaw = {law}'
    )


def rod(name: str, start: Triple, end: Triple, radius: float, law: str = '"black"') -> str:
    """A straight round rod of 256 sides."""
    return (
        f'[[parts]]\nname = "{name}"\nkind = "branch"\npoints = [{lengths(start)}, {lengths(end)}]\n'
        f'radius = "{radius!r} m"\nsides = 256\nlaw = {law}'
    )
