"""The map page: one file that opens anywhere, with no network, and shows the plan as map and list."""

import base64
import hashlib
import html
import json
import re
from collections.abc import Iterable
from datetime import datetime
from importlib import metadata, resources
from pathlib import Path
from typing import Any, ClassVar

import folium
import jinja2
from branca.element import Element, Figure
from folium.template import Template

from maps import labels
from maps.layers import page_data
from spatial.errors import InputError, Problem
from spatial.plan import Plan

LEAFLET = "django-js-lib-leaflet"
LEAFLET_VERSION = "1.9.4.1"
LEAFLET_SHA256 = {
    "leaflet.js": "db49d009c841f5ca34a888c96511ae936fd9f5533e90d8b2c4d57596f4e5641a",
    "leaflet.css": "a7837102824184820dfa198d1ebcd109ff6d0ff9a2672a074b9a1b4d147d04c6",
}
SCRIPTS = (
    "make", "state", "hatches", "ground", "shapes", "tags", "way", "choices", "sheet", "entries", "rounds", "leaves",
    "start",
)
NO_SCRIPT_CAN = str.maketrans({"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"})


class OfflineMap(folium.Map):
    """A folium map that loads nothing from anywhere and always has the same name."""

    default_js: ClassVar[list[tuple[str, str]]] = []
    default_css: ClassVar[list[tuple[str, str]]] = []
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


def write_map(plan: Plan, path: Path, made_on: datetime) -> None:
    """Write the map page of a plan as one file; raises OSError where it cannot be written."""
    path.write_text(map_page(plan, made_on), encoding="utf-8", newline="\n")


def map_page(plan: Plan, made_on: datetime) -> str:
    """Return the map page as HTML that asks no network for anything.

    Equal plans give equal pages but for the line that says when it was made. Raises InputError where the installed
    Leaflet is not the one this page was made for.
    """
    wall = OfflineMap(tiles=None, zoom_control=False, zoom_snap=0.5, attribution_control=False, max_zoom=18)
    figure = wall.get_root()
    _fill_head(figure)
    figure._template = jinja2.Template(_page_file("page.html"))  # noqa: SLF001 - the one way to give the figure a frame
    figure.title = html.escape(labels.PAGE["title"].format(region=plan.region.name))
    figure.made = html.escape(labels.PAGE["made_on"].format(when=f"{labels.day_in_year(made_on)}, {made_on:%H:%M}"))
    figure.scripts_off = html.escape(labels.PAGE["scripts_off"])
    figure.data = _as_json(page_data(plan))
    figure.own_script = _own_script()
    return _with_policy(figure)


def _fill_head(figure: Figure) -> None:
    figure.header._children.clear()  # noqa: SLF001 - its charset line is in our own frame, among the first 1024 bytes
    licence = metadata.distribution(LEAFLET).read_text("LICENSE") or ""
    script = _leaflet_file("leaflet.js").replace("//# sourceMappingURL=leaflet.js.map", "")
    styles = re.sub(r"url\([^)]*\)", "none", _leaflet_file("leaflet.css"))
    figure.header.add_child(_verbatim(f"<style>{styles}\n{_page_file('page.css')}</style>"), name="styles")
    figure.header.add_child(_verbatim(f"<script>/*!\n{licence}*/\n{script}</script>"), name="leaflet")


def _leaflet_file(name: str) -> str:
    content = resources.files("js_lib_leaflet").joinpath("static", "js_lib_leaflet", name).read_bytes()
    if hashlib.sha256(content).hexdigest() != LEAFLET_SHA256[name]:
        mend = f"Install {LEAFLET} {LEAFLET_VERSION} anew"
        raise InputError([Problem(name, LEAFLET, "is not the file the map page was made for", mend)])
    return content.decode("utf-8").replace("\r\n", "\n")  # as a browser does before it checks a hash


def _page_file(name: str) -> str:
    return resources.files("maps").joinpath("page", name).read_text(encoding="utf-8")


def _own_script() -> str:
    modules = "\n".join(_page_file(f"{name}.js") for name in SCRIPTS)
    return f'(() => {{\n"use strict";\n{modules}}})();\n'


def _verbatim(text: str) -> Element:
    """Return an element that writes `text` as it is: a plain Element would read it as a template."""
    element = Element("{{ this.text }}")
    element.text = text
    return element


def _as_json(data: dict[str, Any]) -> str:
    """Return data as ASCII JSON in which no character can end or open a tag."""
    return json.dumps(data, allow_nan=False, separators=(",", ":")).translate(NO_SCRIPT_CAN)


def _with_policy(figure: Figure) -> str:
    """Return the rendered page with a policy that lets only its own scripts and styles run."""
    figure.policy = ""
    page = figure.render()
    scripts, styles = (re.findall(f"<{tag}>(.*?)</{tag}>", page, re.DOTALL) for tag in ("script", "style"))
    figure.policy = (
        f"default-src 'none'; script-src {_hashes(scripts)}; style-src {_hashes(styles)}; "
        "base-uri 'none'; form-action 'none'"
    )
    return figure.render()


def _hashes(texts: Iterable[str]) -> str:
    digests = (hashlib.sha256(text.encode("utf-8")).digest() for text in texts)
    return " ".join(f"'sha256-{base64.b64encode(digest).decode('ascii')}'" for digest in digests)
