"""Lamps so small that paths back from points hardly ever run into them by curved mirrors: light may be missing there.

At points nothing else brings that light. Where no path brings any, the scatter of replicates knows nothing of it
either, so this is told beside the numbers.
"""

import math

import numpy as np
import numpy.typing as npt

from sim.compile import CompiledScene
from sim.geometry.mesh import FloatArray
from sim.materials.law import law_components
from sim.materials.surface import Surface
from sim.scene.check import Survey
from sim.scene.light_paths import sample_wavelengths
from sim.scene.model import Scene
from sim.simulate.tallies import Tallies
from sim.tally.result import Group
from sim.transport.openings import AIMED, WORTH

FEW = 10.0
"""Paths that are expected to run into a lamp: of fewer it may well be that none does so in most replicates."""
BRIGHT = 0.1
"""What returns less at best, such as a pane, is no mirror here."""
FLAT = 1e-9
"""What is bent by less than this [m] is plane: chains find lamps of any size there, see `sim.transport.chains`."""
MOST_PLACES = 64
"""Corners of a mirror that are looked at."""


def seldom_met(seen: Survey, compiled: CompiledScene, tallies: Tallies) -> tuple[tuple[str, ...], ...]:
    """Return for each lamp the names of sensors and zones at which few paths meet it in curved mirrors.

    Notes
    -----
    A path of a point goes into a small solid angle by the chance of that over pi, at most. The lamp is taken to be seen
    as large as in a plane mirror, and from all around, as a convex body is: at a quarter of its lit area. A curved
    mirror shows it larger or smaller, so this is but the order of magnitude. Of the paths that are sent to the opening
    of the lamp's own reflector, see `sim.transport.openings`, as many go there as the lamp has of its area.
    """
    gathered = np.nonzero(compiled.whole)[0]
    places, found = compiled.centre[compiled.cells + gathered], []
    for row, lamp in enumerate(seen.scene.lamps):
        shape, few = seen.lamps[lamp.name], np.zeros(len(gathered), dtype=np.bool_)
        paths = tallies.path_count[row, gathered] * tallies.replicates
        own = {sheet.name for sheet in seen.scene.reflectors if sheet.lamp == lamp.name}
        for is_own in (True, False):
            mirrors = _bent_mirrors(seen, own, is_own)
            if mirrors:
                way = _shortest(places, mirrors, shape.centre)
                aimed = _aimed(compiled, row) if is_own else 0.0
                few |= paths * 0.25 * shape.lit_area * (1.0 / (math.pi * way**2) + aimed) < FEW
        found.append(_names(compiled, compiled.cells + gathered[few]))
    return tuple(found)


def _aimed(compiled: CompiledScene, lamp: int) -> float:
    """Return how many of a point's paths are sent to a lamp's openings, by area of these [m-2]."""
    first, last = compiled.model.emitters.opening_first[lamp : lamp + 2]
    worth = float(compiled.model.emitters.opening[first:last, WORTH].sum())
    return AIMED / worth if worth > 0.0 else 0.0


def _bent_mirrors(seen: Survey, own: set[str], is_own: bool) -> list[FloatArray]:
    """Return some corners of each mirror that is not plane, (n, 3): a lamp's own reflectors, or all others."""
    wanted = [] if is_own else list(seen.surfaces)
    for name, surfaces in seen.reflectors.items():
        wanted += surfaces if (name in own) == is_own else []
    bent = [surface for surface in wanted if _is_bent(surface) and _is_mirror(seen.scene, surface)]
    return [surface.mesh.vertices[:: 1 + len(surface.mesh.vertices) // MOST_PLACES] for surface in bent]


def _is_bent(surface: Surface) -> bool:
    return bool(np.ptp(surface.mesh.vertices @ surface.mesh.normals[0]) > FLAT)


def _is_mirror(scene: Scene, surface: Surface) -> bool:
    wavelength = sample_wavelengths(scene.run.wavelengths)
    laws = [law for law in (surface.law, surface.back_law) if law is not None]
    parts = [law_components(scene.law(law), wavelength).specular for law in laws]
    # At grazing incidence all panes are mirrors.
    return any(part is not None and float(part[:, -1, 0].max()) >= BRIGHT for part in parts)


def _shortest(places: FloatArray, mirrors: list[FloatArray], lamp: FloatArray) -> FloatArray:
    """Return the shortest way from each place, (n, 3), by a corner of a mirror to a lamp, (n,) [m]."""
    corners = np.concatenate(mirrors)
    on = np.linalg.norm(corners - lamp, axis=1)
    return np.array([(np.linalg.norm(corners - place, axis=1) + on).min() for place in places])


def _is_profile(group: Group) -> bool:
    return (group.detail or {}).get("kind") == "profile"


def _names(compiled: CompiledScene, rows: npt.NDArray[np.int64]) -> tuple[str, ...]:
    """Return the names of sensors and zones that have some of the rows."""
    told = [group for group in compiled.groups if group.kind in ("sensor", "zone") and not _is_profile(group)]
    within = [((group.first <= rows) & (rows < group.first + group.count)).any() for group in told]
    return tuple(group.name for group, some in zip(told, within, strict=True) if some)
