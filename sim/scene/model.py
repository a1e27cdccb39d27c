"""A scene: all that a person says about an enclosure, checked and frozen."""

from functools import cached_property

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from sim.furniture.part import Part
from sim.lamps.any_lamp import Lamp
from sim.materials.law import Law, LawRef
from sim.reflectors.reflector import Reflector
from sim.scene import library
from sim.scene.animal import Animal
from sim.scene.digest import digest_of
from sim.scene.enclosure import Enclosure
from sim.scene.fault import key_text
from sim.scene.references import law_references, packaged_spectra, reference_faults
from sim.scene.run import Run
from sim.scene.zone import Zone
from sim.sensors.sensor import Sensor
from sim.spec import Name, Spec

NAMES_FAULT = "scene_names"
"""Type of the validation error that carries all faults of names in its context."""


class Scene(Spec):
    """A scene file as a whole.

    ==========  ====================================================================  ====================
    key         meaning                                                               default
    ==========  ====================================================================  ====================
    title       one line on what it is
    note        what it shows                                                         none
    enclosure   the box, or the room from a mesh file                                 free space
    laws        surface laws by name, besides those of the library                    none
    lamps       at least one
    reflectors  sheets on lamps or free                                               none
    parts       furniture                                                             none
    animal      height of its back, and where it can be                               3 cm, all it can reach
    sensors     points, planes and grids that measure without blocking light          none
    zones       places that are judged                                                none
    run         how finely and how long it is traced                                  see Run
    ==========  ====================================================================  ====================

    Example::

        title = "A tube in free space"

        [[lamps]]
        name = "tube"
        kind = "tube"
        from = ["-30 cm", "0 cm", "0 cm"]
        to = ["30 cm", "0 cm", "0 cm"]
        radius = "8 mm"
        spectrum = "uvb-phosphor-306"
        output = { radiant = "1.5 W" }

        [[sensors]]
        name = "meter"
        kind = "point"
        at = ["0 cm", "0 cm", "-30 cm"]
        towards = "tube"

    Lengths are in metres, right-handed: x to the right along the front, y to the back, z up, from the inside
    front-left corner of the floor.
    """

    title: str = Field(min_length=1, description="one line on what it is")
    note: str = Field(default="", description="what it shows")
    enclosure: Enclosure | None = Field(default=None, description="the walls; left out: free space")
    laws: dict[Name, Law] = Field(default={}, description="surface laws by name, besides those of the library")
    lamps: tuple[Lamp, ...] = Field(min_length=1, description="the lamps, at least one")
    reflectors: tuple[Reflector, ...] = Field(default=(), description="sheets on lamps or free")
    parts: tuple[Part, ...] = Field(default=(), description="furniture")
    animal: Animal = Field(default=Animal(), description="height of its back, and where it can be")
    sensors: tuple[Sensor, ...] = Field(default=(), description="what measures without blocking light")
    zones: tuple[Zone, ...] = Field(default=(), description="places that are judged")
    run: Run = Field(default=Run(), description="how finely and how long it is traced")

    @model_validator(mode="after")
    def _names_agree(self) -> "Scene":
        faults = reference_faults(self)
        if faults:
            text = "; ".join(f"{key_text(fault.path)}: {fault.message}" for fault in faults)
            raise PydanticCustomError(NAMES_FAULT, "{text}", {"text": text, "faults": faults})
        return self

    def law(self, ref: LawRef) -> Law:
        """Return the law that a reference means: itself, one of this scene's, or one of the library.

        Raises
        ------
        KeyError
            For a name that neither has; a validated scene holds none.
        """
        if not isinstance(ref, str):
            return ref
        return self.laws[ref] if ref in self.laws else library.material(ref)

    @cached_property
    def wall_names(self) -> tuple[str, ...]:
        """Names of the surfaces of the enclosure, openings included; none in free space."""
        return () if self.enclosure is None else self.enclosure.surface_names

    @cached_property
    def part_surface_names(self) -> dict[str, tuple[str, ...]]:
        """Names of the surfaces of each part, by the part's name."""
        return {part.name: part.surface_names for part in self.parts}

    @cached_property
    def digest(self) -> str:
        """Fingerprint of the scene with all that it takes from files and the library, 16 hexadecimal digits."""
        materials = {name: library.material(name) for _, name in law_references(self) if name not in self.laws}
        return digest_of(self, materials, packaged_spectra(self))
