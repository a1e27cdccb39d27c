"""A scene file's twin for Mitsuba 3, a general-purpose renderer: box, tube, parabolic mirror, plate."""

import math
from collections.abc import Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.scene.model import Scene

Vector = tuple[float, float, float]
SAMPLES = 1 << 14
FACETS = 400


def rectangle(mi: ModuleType, origin: Vector, edge_u: Vector, edge_v: Vector) -> object:
    """Return the transform of Mitsuba's unit rectangle to a corner and two edges; it faces edge_u x edge_v."""
    o, u, v = (np.array(part, dtype=float) for part in (origin, edge_u, edge_v))
    normal = np.cross(u, v)
    matrix = np.eye(4)
    matrix[:3, 0], matrix[:3, 1], matrix[:3, 2] = 0.5 * u, 0.5 * v, normal / np.linalg.norm(normal)
    matrix[:3, 3] = o + 0.5 * (u + v)
    return mi.ScalarTransform4f(matrix)


def walls(size: tuple[float, float, float]) -> Mapping[str, tuple[Vector, Vector, Vector]]:
    """Return corner and edges of the six walls of a box, facing inward."""
    x, y, z = size
    return {
        "floor": ((0, 0, 0), (x, 0, 0), (0, y, 0)),
        "ceiling": ((0, 0, z), (0, y, 0), (x, 0, 0)),
        "front": ((0, 0, 0), (0, 0, z), (x, 0, 0)),
        "back": ((0, y, 0), (x, 0, 0), (0, 0, z)),
        "left": ((0, 0, 0), (0, y, 0), (0, 0, z)),
        "right": ((x, 0, 0), (0, 0, z), (0, y, 0)),
    }


def irradiances(mi: ModuleType, scene: Scene, seeds: int, folder: Path) -> dict[str, tuple[float, float]]:
    """Return mean and standard error of irradiance on each wall and the plate [W m-2], over independent seeds."""
    loaded = mi.load_dict(_twin(mi, scene, folder), optimize=False)
    meters = [(shape.id(), shape.sensor()) for shape in loaded.shapes() if shape.is_sensor()]
    values: dict[str, list[float]] = {name: [] for name, _ in meters}
    for seed in range(seeds):
        for index, (name, meter) in enumerate(meters):
            image = mi.render(loaded, sensor=meter, spp=SAMPLES, seed=1000 * index + seed)
            values[name].append(float(np.array(image)[0, 0, 0]))
    return {k: (float(np.mean(v)), float(np.std(v, ddof=1) / math.sqrt(seeds))) for k, v in values.items()}


def _grey(value: float) -> dict[str, Any]:
    return {"type": "rgb", "value": [value] * 3}


def _matt(reflectance: float) -> dict[str, Any]:
    return {"type": "diffuse", "reflectance": _grey(reflectance)}


def _meter() -> dict[str, Any]:
    film = {"type": "hdrfilm", "width": 1, "height": 1, "pixel_format": "rgb", "component_format": "float32"}
    sampler = {"type": "independent", "sample_count": SAMPLES}
    return {"type": "irradiancemeter", "sampler": sampler, "film": film | {"rfilter": {"type": "box"}}}


def _twin(mi: ModuleType, scene: Scene, folder: Path) -> dict[str, Any]:
    assert scene.enclosure is not None
    assert scene.enclosure.size is not None
    lamp, mirror, plate = scene.lamps[0], scene.reflectors[0], scene.parts[0]
    start, end = np.array(lamp.start), np.array(lamp.end)
    length = float(np.linalg.norm(end - start))
    radiance = lamp.output.radiant / (2.0 * math.pi * lamp.radius * length) / math.pi
    emitter = {"type": "area", "radiance": _grey(radiance)}
    twin: dict[str, Any] = {
        "type": "scene",
        "integrator": {"type": "path", "max_depth": -1, "rr_depth": 5},
        "lamp": {
            "type": "cylinder",
            "p0": start,
            "p1": end,
            "radius": lamp.radius,
            "bsdf": _matt(0.0),
            "emitter": emitter,
        },
    }
    for name, (corner, u, v) in walls(scene.enclosure.size).items():
        law = scene.law(scene.enclosure.walls.law(name))
        shape = {"type": "rectangle", "to_world": rectangle(mi, corner, u, v), "bsdf": _matt(law.reflectance)}
        twin[name] = shape | {"sensor": _meter()}
    matt = {"type": "twosided", "bsdf": _matt(plate.law.reflectance)}
    at = rectangle(mi, plate.corner, plate.edge_u, plate.edge_v)
    twin["plate"] = {"type": "rectangle", "to_world": at, "bsdf": matt, "sensor": _meter()}
    smooth = {"type": "conductor", "material": "none", "specular_reflectance": _grey(mirror.law.reflectance)}
    sides = {"type": "twosided", "front": smooth, "back": _matt(0.0)}
    _write_parabola(mi, folder / "parabola.ply", start, end, mirror.focus, mirror.width)
    twin["mirror"] = {"type": "ply", "filename": str(folder / "parabola.ply"), "face_normals": True, "bsdf": sides}
    return twin


def _write_parabola(mi: ModuleType, path: Path, start: FloatArray, end: FloatArray, focus: float, width: float) -> None:
    """Write the trough over a tube along x that opens down: height = focus - y^2 / (4 focus) over the axis."""
    across = np.linspace(-0.5 * width, 0.5 * width, FACETS + 1)
    height = focus - across**2 / (4.0 * focus)
    points = [(x, start[1] + a, start[2] + h) for x in (start[0], end[0]) for a, h in zip(across, height, strict=True)]
    rows = np.arange(FACETS)
    a, b, c, e = rows, rows + 1, rows + FACETS + 1, rows + FACETS + 2
    faces = np.concatenate([np.stack([a, b, e], axis=1), np.stack([a, e, c], axis=1)])
    mesh = mi.Mesh("parabola", len(points), len(faces), has_vertex_normals=False)
    parameters = mi.traverse(mesh)
    parameters["vertex_positions"] = np.array(points, dtype=np.float32).ravel()
    parameters["faces"] = faces.astype(np.uint32).ravel()
    parameters.update()
    mesh.write_ply(str(path))
