"""A page of maps as one file that opens anywhere: Leaflet inside, no network, a policy that forbids all else."""

import base64
import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from importlib import metadata, resources
from typing import Any

import folium
import jinja2
from branca.element import Figure
from folium.template import Template

from spatial.errors import InputError, Problem

FRAME = "frame.html"
LEAFLET = "django-js-lib-leaflet"
LEAFLET_VERSION = "1.9.4.1"
LEAFLET_SHA256 = {
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
}
NO_TAG_CAN = str.maketrans({"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"})


class OfflineMap(folium.Map):
    """A folium map that loads nothing from anywhere and always has the same name."""

    default_js: list[tuple[str, str]] = []  # noqa: RUF012 - as folium declares it
    default_css: list[tuple[str, str]] = []  # noqa: RUF012 - as folium declares it
    _template = Template("""
        {% macro html(this, kwargs) %}<div id="map" role="region"></div>{% endmacro %}
        {% macro script(this, kwargs) %}
        const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
        const wallMap = L.map("map", {
          ...{{ this.options|tojavascript }},
          renderer: L.svg({ padding: 0.5 }),
          zoomAnimation: !calm,
          fadeAnimation: !calm,
          markerZoomAnimation: !calm,
          inertia: !calm,
        });
        {% endmacro %}
    """)


def offline_page(
    leaves: Sequence[str],
    scripts: Sequence[str],
    styles: Sequence[str],
    data: Mapping[str, Any],
    words: Mapping[str, str],
) -> str:
    """Return one page as HTML that asks no network for anything.

    `leaves` are the ids of the leaves of its book, `scripts` and `styles` its modules, in order, all in maps/page;
    `data` is what the scripts show, `words` what the frame itself says. Raises InputError where the installed Leaflet
    is not the one these pages were made for.
    """
    map_element, map_script = _map_parts()
    parts = {
        **words,
        "leaves": leaves,
        "styles": _styles(styles),
        "leaflet": _leaflet(),
        "map_element": map_element,
        "map_script": map_script,
        "page_script": _page_script(scripts),
        "data": _as_json(data),
    }
    page = jinja2.Environment(autoescape=True, keep_trailing_newline=True).from_string(_page_file(FRAME))
    return page.render(parts, policy=_policy(page.render(parts, policy="")))


def _map_parts() -> tuple[str, str]:
    """Return the element and the script that folium writes for the map."""
    figure = Figure()
    figure.add_child(
        OfflineMap(tiles=None, zoom_control=False, zoom_snap=0.25, attribution_control=False, max_zoom=18)
    )
    figure.render()
    return figure.html.render(), figure.script.render()


def _styles(names: Sequence[str]) -> str:
    """Return Leaflet's styles without the images they would load, then the page's own."""
    leaflet = re.sub(r"url\([^)]*\)", "none", _leaflet_file("leaflet.css"))
    return "\n".join([leaflet, *(_page_file(name) for name in names)])


def _leaflet() -> str:
    """Return Leaflet's script under its licence, without the line that asks for a file beside it."""
    licence = metadata.distribution(LEAFLET).read_text("LICENSE") or ""
    return f"/*!\n{licence}*/\n" + _leaflet_file("leaflet.js").replace(
        "//# sourceMappingURL=leaflet.js.map", ""
    )


def _leaflet_file(name: str) -> str:
    content = resources.files("js_lib_leaflet").joinpath("static", "js_lib_leaflet", name).read_bytes()
    if hashlib.sha256(content).hexdigest() != LEAFLET_SHA256[name]:
        mend = f"Install {LEAFLET} {LEAFLET_VERSION} anew"
        raise InputError([Problem(name, LEAFLET, "is not the file the map page was made for", mend)])
    return content.decode("utf-8").replace("\r\n", "\n")  # as a browser does before it checks a hash


def _page_file(name: str) -> str:
    return resources.files("maps").joinpath("page", name).read_text(encoding="utf-8")


def _page_script(names: Sequence[str]) -> str:
    modules = "\n".join(_page_file(f"{name}.js") for name in names)
    return f'(() => {{\n"use strict";\n{modules}}})();\n'


def _as_json(data: Mapping[str, Any]) -> str:
    """Return data as ASCII JSON in which no character can end or open a tag."""
    return json.dumps(data, allow_nan=False, separators=(",", ":")).translate(NO_TAG_CAN)


def _policy(page: str) -> str:
    """Return the security policy that lets this page's own scripts and styles run, and nothing else."""
    scripts, styles = (re.findall(f"<{tag}>(.*?)</{tag}>", page, re.DOTALL) for tag in ("script", "style"))
    return (
        f"default-src 'none'; script-src {_hashes(scripts)}; style-src {_hashes(styles)}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hashes(texts: Iterable[str]) -> str:
    digests = (hashlib.sha256(text.encode("utf-8")).digest() for text in texts)
    return " ".join(f"'sha256-{base64.b64encode(digest).decode('ascii')}'" for digest in digests)
