"""``vivray describe``: the manual page of a thing that a scene can hold, or an entry of the library."""

import inspect
import io
from pathlib import Path
from typing import TYPE_CHECKING, Any, get_args

import click

from sim.commands.wrapped import filled, manual, terminal_width

if TYPE_CHECKING:
    from sim.scene.library import LampSpectrum, Material
    from sim.spectra.spectrum import Spectrum


@click.command()
@click.argument("name", required=False)
@click.option(
    "--plot",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Draw a material or screen to a new SVG or PNG file.",
)
@click.option(
    "--light", help="Tell what a material or screen makes of this light: a packaged lamp spectrum, or a CSV file."
)
def describe(name: str | None, plot: Path | None, light: str | None) -> None:
    """Tell what a NAME means: a packaged material, screen or lamp spectrum, or a kind such as lambertian or tube.

    Without a name, list them all.
    """
    from sim.scene import library

    if (plot is not None or light is not None) and name not in library.law_names():
        found = "name it" if name is None else f"'{name}' is no packaged material or screen"
        raise click.UsageError(
            f"{found}: --plot and --light are for a material or screen, as in 'vivray describe sand-dry'"
        )
    if name is None:
        click.echo(_listing())
    elif name in library.law_names():
        click.echo(_entry(name, library.law_entry(name)))
        if light is not None:
            click.echo("\n".join(["", *_under(library.law_entry(name), light)]))
        if plot is not None:
            _draw(name, plot)
    elif name in library.lamp_spectrum_names():
        click.echo(_entry(name, library.lamp_spectrum_entry(name)))
    elif name in (kinds := _kinds()):
        click.echo(manual(inspect.cleandoc(kinds[name].__doc__ or ""), terminal_width()))
    else:
        raise click.UsageError(_unknown(name, [*kinds, *library.law_names(), *library.lamp_spectrum_names()]))


def _unknown(name: str, known: list[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(name, known, n=1)
    hint = f"did you mean '{close[0]}'?" if close else "'vivray describe' lists them all"
    return f"nothing is called '{name}'; {hint}"


def _kinds() -> dict[str, type]:
    """Return the class of every kind, profile and form that a scene can hold, by the word that a file uses."""
    from sim.furniture.part import Part
    from sim.lamps.any_lamp import Lamp
    from sim.materials.law import Law
    from sim.reflectors.reflector import Reflector
    from sim.sensors.sensor import Sensor

    found: dict[str, type] = {}
    for union in (Law, Lamp, Reflector, Part, Sensor):
        for spec in _classes(union):
            for key in ("form", "profile", "kind"):
                if key in spec.model_fields:
                    found.setdefault(get_args(spec.model_fields[key].annotation)[0], spec)
                    break
    return found


def _classes(union: Any) -> list[Any]:  # noqa: ANN401  # an annotation is whatever typing makes of it
    """Return the classes of a union of specs, however deep its annotations are nested."""
    if inspect.isclass(union) and hasattr(union, "model_fields"):
        return [union]
    return [spec for inner in get_args(union) for spec in _classes(inner)]


def _listing() -> str:
    from sim.scene import library

    kinds = filled(f"  {', '.join(sorted(_kinds()))}", terminal_width(), 2)
    lines = ["kinds:", kinds, "", "materials (a guess is marked so):"]
    for name in library.material_names():
        lines.append(_row(name, library.material_entry(name)))
    lines += ["", "screens:"]
    lines += [_row(name, library.screen_entry(name)) for name in library.screen_names()]
    lines += ["", "lamp spectra:"]
    for name in library.lamp_spectrum_names():
        lines.append(_row(name, library.lamp_spectrum_entry(name)))
    return "\n".join(lines)


def _row(name: str, entry: "Material | LampSpectrum") -> str:
    return filled(f"  {name:<30} {entry.kind_of_value:<9} {entry.title}", terminal_width(), 43)


def _entry(name: str, entry: "Material | LampSpectrum") -> str:
    from sim.scene.library import Material

    lines = [f"{name}: {entry.title}", f"value:   {entry.kind_of_value}", f"source:  {entry.source}"]
    if isinstance(entry, Material) and entry.measured_over is not None:
        lines.append(f"covers:  {entry.measured_over[0]} to {entry.measured_over[1]}; held constant beyond")
    if entry.note:
        lines.append(f"note:    {entry.note}")
    lines.append(f"licence: {entry.licence}")
    lines = [filled(line, terminal_width(), 9) for line in lines]
    if isinstance(entry, Material):
        lines += ["", *_values(entry)]
    return "\n".join(lines)


def _values(entry: "Material") -> list[str]:
    """Return a table of what the material returns and passes: at normal incidence, or by angle for a screen."""
    import numpy as np

    from sim.materials.law import law_components
    from sim.materials.screen import Screen
    from sim.screens.by_angle import angle_table

    if isinstance(entry.law, Screen):
        return angle_table(entry.law.fill, float(law_components(entry.law, np.array([310.0])).wire_reflectance[0]))
    wavelength_nm = np.arange(280.0, 401.0, 20.0)
    reflected, passed = law_components(entry.law, wavelength_nm).at_normal()
    rows = [f"{'nm':>5} {'reflected':>10} {'passed':>8}"]
    return rows + [f"{nm:5.0f} {r:10.4f} {t:8.4f}" for nm, r, t in zip(wavelength_nm, reflected, passed, strict=True)]


def _under(entry: "Material", light: str) -> list[str]:
    """Return a table of what the material makes of a light: that of a CSV file [W/m2/nm], or UVI 1 of a lamp."""
    from sim.materials.under_light import under_light
    from sim.spectra.weighting import WEIGHTINGS

    spectrum, named = _light(light)
    rows = [f"of {named}, along the normal:", f"{'':>8} {'arrives':>11} {'returned':>11} {'passed':>11}"]
    for name, title, unit in (("uvi", "UVI", ""), ("uvb-320", "UVB 320", "W/m2"), ("uva", "UVA 315", "W/m2")):
        found = under_light(entry.law, spectrum, WEIGHTINGS[name], 250.0, 400.0)
        values = (found.arrives, found.returned, found.passed)
        rows.append(f"{title:>8} " + " ".join(f"{value:11.5g}" for value in values) + f" {unit}".rstrip())
    return rows


def _light(light: str) -> "tuple[Spectrum, str]":
    from sim.scene import library
    from sim.spectra.spectrum import Spectrum
    from sim.spectra.weighting import WEIGHTINGS

    if light in library.lamp_spectrum_names():
        spectrum = library.emission(light).spectrum(library.emission, 250.0, 400.0)
        uvi = WEIGHTINGS["uvi"].scale * spectrum.weighted(WEIGHTINGS["uvi"])
        return spectrum.scaled(1.0 / uvi), f"a lamp of spectrum {light} at UVI 1"
    if not Path(light).is_file():
        raise click.BadParameter(
            f"'{light}' is neither a file nor a packaged lamp spectrum; 'vivray describe' lists those",
            param_hint="--light",
        )
    try:
        return Spectrum.read_csv(light), f"the light in {light} (taken as W/m2/nm)"
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--light") from None


def _draw(name: str, plot: Path) -> None:
    from sim.report.material_figure import material_figure
    from sim.report.screen_figure import screen_figure
    from sim.report.write import write_whole_bytes
    from sim.scene import library

    if plot.exists():
        raise click.BadParameter(f"{plot} exists; name a new file", param_hint="--plot")
    if plot.suffix not in (".svg", ".png"):
        raise click.BadParameter(f"'{plot}' is neither .svg nor .png", param_hint="--plot")
    entry = library.law_entry(name)
    figure = screen_figure(name, entry) if name in library.screen_names() else material_figure(name, entry)
    drawn = io.BytesIO()
    figure.savefig(drawn, dpi=150, format=plot.suffix.removeprefix("."))
    write_whole_bytes(plot, drawn.getvalue())
    click.echo(str(plot))
