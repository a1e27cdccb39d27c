"""The base of everything a scene file can say."""

from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, StringConstraints, ValidationInfo


class Spec(BaseModel):
    """A frozen, validated statement of a scene file; unknown keys are refused."""

    # Deferred: of sixty classes each would build a validator of its own, and only that of a whole scene is used.
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, validate_by_name=True, defer_build=True)


def _beside_scene(path: Path, info: ValidationInfo) -> Path:
    context = info.context or {}
    folder = Path(context.get("folder", "."))
    full = path if path.is_absolute() else folder / path
    if "named" in context:
        context["named"](full)
    if not full.is_file():
        raise ValueError(f"file '{path}' not found (looked in {folder})")
    return full


Name = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=r"^[\w][\w .+\-]*$")]
"""A name of a thing: letters, digits, spaces, ``. + - _``."""

SceneFile = Annotated[Path, AfterValidator(_beside_scene)]
"""A file named by a scene, looked up beside the scene file.

The validation's context holds the ``folder`` of the scene file, and maybe ``named``, which is told of the file before
it is looked for or read.
"""
